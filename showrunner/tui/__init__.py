"""The screens: what a book holds, and the show from two metres away."""
