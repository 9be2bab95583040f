"""The edge to HTTP: opening work for a request, problems, forms, rendering, safety of browsers, drawings."""
