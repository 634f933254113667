"""What measurements or wishes say about a wall: free inputs, derivatives by them, and what stands on those."""
