"""One writer a format; no writer uses another."""
