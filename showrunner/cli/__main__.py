"""`python -m showrunner.cli`."""

from showrunner.cli.main import main

main()
