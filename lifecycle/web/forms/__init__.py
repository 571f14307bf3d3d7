"""Forms: they read what was typed, and a verb of the record decides."""
