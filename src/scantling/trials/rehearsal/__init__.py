"""The rehearsal: the planned office stood up in namespaces of this machine's kernel and tried with real packets."""
