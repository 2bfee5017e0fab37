"""`python -m gen` and the command `gen`."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from gen.cli.main import run

    run()


if __name__ == "__main__":
    main()
