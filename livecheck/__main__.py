"""The front door; the only place that ends the process."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and exit once."""
    from livecheck import cli

    sys.exit(cli.main(sys.argv[1:]))


if __name__ == "__main__":
    main()
