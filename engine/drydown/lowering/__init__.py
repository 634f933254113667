"""From a case to the flat arrays of the kernel: curves into tables, layers into cells, loads into sources."""
