"""The book: one value, bound from a plan, printed as PDF and as HTML from the same blocks."""
