"""One grammar for quantities, typed and spoken."""
