"""The front door; the only place that ends the process."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and exit once; the console does not wait for its commands."""
    if len(sys.argv) == 1 and sys.stdin.isatty() and sys.stdout.isatty():
        from livecheck import console

        sys.exit(console.run(None))
    from livecheck import cli

    sys.exit(cli.main(sys.argv[1:]))


if __name__ == "__main__":
    main()
