"""What a heat pump draws from: one folder a kind."""
