"""The orchard co-operative's crate tags: an invented shed to try the tool in."""
