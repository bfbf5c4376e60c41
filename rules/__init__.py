"""Rule packs: YAML files, read as data."""
