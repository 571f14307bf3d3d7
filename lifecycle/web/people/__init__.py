"""People: how they come in, what they may change, how they leave."""
