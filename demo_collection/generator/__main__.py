"""`python -m demo_collection.generator FOLDER` draws the demonstration into an empty folder."""

import sys
from pathlib import Path

from demo_collection.generator.write_files import write_all

if __name__ == "__main__":
    write_all(Path(sys.argv[1]))
