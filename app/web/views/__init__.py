"""View models: plain data that the templates print."""
