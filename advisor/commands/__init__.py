"""The commands of `underbough`, one subject a file; `advisor.cli` lists them. Heavy imports stay inside them."""
