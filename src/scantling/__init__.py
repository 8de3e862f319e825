"""Scantling: from a written brief to an explained, checked plan for a one-server office."""

__version__ = "0.1.0"
