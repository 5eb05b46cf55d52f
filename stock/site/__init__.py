"""The wiring: the only files that name both apps."""
