"""What is known: plants, allies, pests, diseases, practices, figures and links as YAML, read as data."""
