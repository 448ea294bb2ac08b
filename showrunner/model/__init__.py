"""What the files mean: frozen documents and the units they use. Nothing here reads a file, a clock or a port."""
