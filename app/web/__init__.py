"""What people touch: routes and view models. No rule of the trade lives here."""
