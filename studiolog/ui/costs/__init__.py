"""What a good piece costs, and which form pays for its hours."""
