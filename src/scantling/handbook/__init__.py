"""The trade's formulas and searches, one subject a file: pure functions on plain numbers, each with its source."""
