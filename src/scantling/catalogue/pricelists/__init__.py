"""Suppliers' price lists: read as cells with their places, columns found or kept, every row judged."""
