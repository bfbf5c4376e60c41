"""Numbers and arrays in, numbers and arrays out; nothing here knows of orchards, rules or files."""
