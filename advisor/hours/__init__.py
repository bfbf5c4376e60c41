"""The year's hours and what fits this week."""
