"""Tasks and chores, and who does them."""
