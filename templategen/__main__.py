"""``python -m templategen``."""

from templategen.cli import run

if __name__ == "__main__":
    run()
