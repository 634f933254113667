"""A case is run and its results are kept."""
