"""What the two sides of a part meet: weather, ground, rooms."""
