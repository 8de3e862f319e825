"""Drawings of a plan: sheets in SVG, drawn from plain view models."""
