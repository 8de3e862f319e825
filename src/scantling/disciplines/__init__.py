"""The trades, one file each: what it needs whatever is chosen (`asks…`), what it makes of the purchase (`design…`)."""
