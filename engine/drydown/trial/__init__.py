"""What is asked of runs: does it dry, how much can it take, when, against what, how sure."""
