"""A plan put to the test by means that share no code with what made it."""
