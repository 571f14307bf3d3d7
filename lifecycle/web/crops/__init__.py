"""Plants, sowings, seed and what happened to them."""
