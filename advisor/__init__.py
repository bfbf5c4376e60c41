"""Advice for fruit trees tended as an ecosystem."""
