"""The command `gen`: one file a command; parse, call, print."""
