"""What stands already: kit that a survey found, parts bought, addresses and names issued; no file is read here."""
