"""How the shipped weights and the made takes come about."""
