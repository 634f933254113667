"""The desk: a wall made by looking at it, in a browser, on this machine alone.

`drydown desk` serves it. What is edited is a case file at every moment; what is answered is what the commands answer.
"""
