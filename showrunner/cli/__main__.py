"""`python -m showrunner.cli`."""

from showrunner.cli.entry import main

main()
