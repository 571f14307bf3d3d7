"""Records of the weather, and forecasts."""
