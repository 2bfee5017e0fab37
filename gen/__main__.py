"""`python -m gen` and the command `gen`."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    try:
        from gen.cli.main import run
    except KeyboardInterrupt:  # so early that there is nothing to clean up
        raise SystemExit(130) from None
    run()


if __name__ == "__main__":
    main()
