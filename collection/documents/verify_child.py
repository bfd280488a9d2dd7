"""A report compared in a process of its own, within limits of memory: a file made to break a reader breaks only it.

python -P -m collection.documents.verify_child FILE MOST_BYTES   (one JSON document on standard output)
"""

import logging
import resource
import sys
from dataclasses import asdict
from pathlib import Path

from pydantic_core import to_json

from collection.documents.comparison import compare
from schemas.errors import SourceRefused


def main(path: str, most_bytes: str) -> None:
    """Print the comparison, or why the file was refused."""
    resource.setrlimit(resource.RLIMIT_AS, (int(most_bytes), int(most_bytes)))
    logging.disable(logging.CRITICAL)  # pypdf warns of each oddity
    try:
        answer: dict[str, object] = asdict(compare(Path(path).read_bytes(), path))
    except SourceRefused as refused:
        answer = refused.as_dict()
    sys.stdout.buffer.write(to_json(answer))


if __name__ == "__main__":
    main(*sys.argv[1:])
