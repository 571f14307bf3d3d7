"""Messages, by every channel."""
