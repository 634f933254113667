"""The compiled room: floats and arrays in, floats and arrays out; it knows no assembly and no material name."""
