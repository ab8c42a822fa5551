"""``python -m riskcheck`` is the same as ``riskcheck``."""

from riskcheck.cli import main

if __name__ == "__main__":
    main()
