"""One module a family of sheets; whatever lies in this folder is found by listing it."""
