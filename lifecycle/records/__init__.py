"""The only code that writes: one verb a function, each in one transaction."""
