"""``python -m pushproof``."""

from pushproof.cli import main

if __name__ == "__main__":
    main()
