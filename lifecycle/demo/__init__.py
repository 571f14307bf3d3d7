"""The demonstration: an invented federation of gardens, its weather and four growing years."""
