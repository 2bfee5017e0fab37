"""The recipe: what is to be varied, in physical units, as a TOML file."""
