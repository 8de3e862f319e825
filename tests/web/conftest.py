"""The browser for the tests of this folder."""

from browsing import chromium, office, opens

__all__ = ["chromium", "office", "opens"]
