"""Who is who: people, secrets, sessions, lockout."""
