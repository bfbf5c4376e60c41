"""Why, why not, what if, look next: explanations that are proven by running again."""
