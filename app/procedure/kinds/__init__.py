"""The kinds of step, one module each; `app.procedure.registry` finds them."""
