"""Frost nights: who judges, who is asked, what is covered."""
