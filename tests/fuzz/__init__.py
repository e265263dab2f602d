"""Bad input by lot: texts, forms, cookies, photos, papers. Nothing may break, and all be answered."""
