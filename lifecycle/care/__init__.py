"""The rules: life so far, site climate and the day in, steps with reasons out."""
