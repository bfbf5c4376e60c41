"""The routes of the JSON service, one subject a file."""
