"""The version, said once; pyproject.toml reads it from here."""

VERSION = "0.1"
