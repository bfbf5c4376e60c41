"""The JSON service: parse, call the advisor, answer."""
