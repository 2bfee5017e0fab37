"""Why a model fails on the marks it is given."""
