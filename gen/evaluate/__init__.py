"""From pixels and a model to curves: models, scoring, statistics."""
