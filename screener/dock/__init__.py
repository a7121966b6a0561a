"""The dock page: a local server for the bench, its pages and its interface for other programs."""
