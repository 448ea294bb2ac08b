"""Decibels, the gain chain and its trims, loudness of samples, exposure. No file, clock or port is touched here."""
