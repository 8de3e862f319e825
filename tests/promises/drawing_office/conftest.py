"""The browser for these promises."""

from browsing import chromium, office, opens

__all__ = ["chromium", "office", "opens"]
