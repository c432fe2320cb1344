"""How the demo journal of the made-up studio Tern Yard is made, and its few files."""
