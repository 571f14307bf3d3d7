"""Sites, beds and what belongs to them."""
