"""Pages and lists that join the slices: the work list, the case page, the measuring form. It has no tables."""
