"""The proof: exactly what can reach what by the rules of the firewall, held against what is meant."""
