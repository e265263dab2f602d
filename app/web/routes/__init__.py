"""One module of routes for each screen."""
