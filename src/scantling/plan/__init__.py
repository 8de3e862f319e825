"""The spine: find the trades, order their functions by records, buy, check, freeze."""
