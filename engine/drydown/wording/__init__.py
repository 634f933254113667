"""Every sentence about a result."""
