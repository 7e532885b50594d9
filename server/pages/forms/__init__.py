"""Forms: their fields, what was typed, and ward time as people type it."""
