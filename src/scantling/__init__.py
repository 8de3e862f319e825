"""Scantling: from a written brief to an explained, checked plan for a one-server office."""

__version__ = "0.1.0"


class UserError(Exception):
    """Something a person can put right; its text is all they need."""
