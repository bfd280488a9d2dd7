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
from collection.documents.disclosed import disclosed
from collection.documents.loan_report import loan_report
from collection.documents.public import publication
from collection.documents.sections.photographs import with_photographs
from collection.documents.typeset import typeset
from collection.pipeline import assess_store
from collection.questions.triage import Triage
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


def one(triage: Triage, object_id: str, *, pictures: bool) -> None:
    """The second of two in a warm process."""
    shown, jpegs = photographs(object_id)
    records = dict(triage.collection.frames) | ({"photo": shown} if pictures else {})
    also = disclosed(triage, [object_id], None)[object_id]
    for _ in range(2):
        start = time.perf_counter()
        shown_records, given = publication(Collection.of(records, triage.as_of), object_id, also)
        document = loan_report(shown_records, object_id, STATE, triage.as_of, also=given)
        written = time.perf_counter()
        placed, ready = with_photographs(document, jpegs if pictures else {})
        pdf = typeset(placed, ready)
        done = time.perf_counter()
    pages = len(PdfReader(BytesIO(pdf)).pages)
    print(
        f"{object_id}: {pages} pages, {PICTURES if pictures else 0} pictures: content {written - start:.3f} s,"
        f" page {done - written:.3f} s, {len(pdf) / 1e6:.1f} MB"
    )


def many(triage: Triage) -> None:
    ids = triage.collection["object"]["object_id"].sort().to_list()
    wanted = (ids * (MANY // len(ids) + 1))[:MANY]
    with tempfile.TemporaryDirectory() as out:
        start = time.perf_counter()
        order = ReportRequest(STATE, triage.as_of, Path(out), Path(out))
        failed = [report for report in reports(triage, wanted, order) if report.error]
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
        triage = assess_store(store, lambda c: as_of_day(None, c))
        damage = triage.collection["damage"].group_by("object_id").len()
        most = damage.sort("len", "object_id", descending=True)["object_id"]
        for object_id in most[:3]:
            one(triage, object_id, pictures=False)
        one(triage, most[0], pictures=True)
        many(triage)


if __name__ == "__main__":
    main()
