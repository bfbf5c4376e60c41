"""Bloom through the season, shelter through the winter, and which plants to add."""
