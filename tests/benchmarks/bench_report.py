"""Reports: seconds for one of four pages with pictures, seconds and memory for many. `bench_report.py [STORE]`."""

import hashlib
import sys
import tempfile
import time
from io import BytesIO
from pathlib import Path

import polars as pl
from PIL import Image
from pypdf import PdfReader

from collection.commands.demo import build
from collection.documents.batch import ReportRequest, reports
from collection.documents.loan_report import loan_report
from collection.documents.public import public
from collection.documents.typeset import typeset
from collection.settings import as_of_day
from collection.snapshot import Collection
from collection.store import Store
from schemas.vocabularies import vocabulary

MANY, PICTURES = 500, 8
STATE = next(iter(vocabulary("loan_state").term))


def photographs(object_id: str) -> tuple[pl.DataFrame, dict[str, bytes]]:
    """Pictures of 1600 x 1200 that no two reports share, so that nothing is remembered."""
    made = {}
    for n in range(PICTURES):
        out = BytesIO()
        Image.effect_noise((1600, 1200), 30 + n).convert("RGB").save(out, "JPEG", quality=85)
        made[hashlib.sha256(out.getvalue()).hexdigest()] = out.getvalue()
    rows = [{"photo_id": photo, "object_id": object_id, "view": f"view {n}"} for n, photo in enumerate(made)]
    return pl.DataFrame(rows), made


def one(collection: Collection, object_id: str) -> None:
    shown, made = photographs(object_id)
    with_pictures = Collection.of(dict(collection.frames) | {"photo": shown})
    day = as_of_day(None, collection)
    start = time.perf_counter()
    document = loan_report(public(with_pictures, object_id), object_id, STATE, day)
    written = time.perf_counter()
    pdf = typeset(document, made)
    done = time.perf_counter()
    pages = len(PdfReader(BytesIO(pdf)).pages)
    print(
        f"{object_id}: {pages} pages, {PICTURES} pictures: content {written - start:.3f} s, page {done - written:.3f} s, {len(pdf) / 1e6:.1f} MB"
    )


def many(collection: Collection) -> None:
    ids = collection["object"]["object_id"].sort().to_list()
    wanted = (ids * (MANY // len(ids) + 1))[:MANY]
    with tempfile.TemporaryDirectory() as out:
        start = time.perf_counter()
        order = ReportRequest(STATE, as_of_day(None, collection), Path(out), Path(out))
        failed = [made for made in reports(collection, wanted, order) if made.error]
        print(f"{MANY} reports: {time.perf_counter() - start:.1f} s, {len(failed)} failed, peak {peak():.0f} MB")


def peak() -> float:
    """VmHWM: `ru_maxrss` of a child begins at its parent's size."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) / 1000 for line in lines if line.startswith("VmHWM"))


def main() -> None:
    with tempfile.TemporaryDirectory() as work:
        store = Store(Path(sys.argv[1])) if len(sys.argv) > 1 else Store(Path(work) / "demo.duckdb")
        if len(sys.argv) <= 1:
            build(store)
        collection = store.read()
        damaged = (
            collection["damage"].group_by("object_id").len().sort("len", "object_id", descending=True)["object_id"]
        )
        for object_id in damaged[:3]:
            one(collection, object_id)
        many(collection)


if __name__ == "__main__":
    main()
