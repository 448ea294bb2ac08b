"""What every room's tests share."""

pytest_plugins = ["needs"]
