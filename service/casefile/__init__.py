"""Read-only pages and lists that join the slices: the work list and the case page. It has no tables."""
