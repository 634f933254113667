"""Many walls marched side by side on a GPU, by the scalar physics of `drydown.kernel`.

Nothing here is imported unless it is asked for: it needs the extra ``cuda``.
"""
