"""Results for people and other programs: HTML, CSV, JSON. A report never computes."""
