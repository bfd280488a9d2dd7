"""Which records hold rows is asked in one question: none that does is left out, whatever was done to the file."""

import shutil

import duckdb
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collection.store.connection import CONFIGURATION
from collection.store.copies import log_of
from collection.store.tables import with_rows
from schemas.tables import RECORDS

COUNTED = " UNION ALL ".join(f"SELECT '{name}', count(*) FROM {name}" for name in RECORDS)
STEPS = st.sampled_from(["put", "drop one", "drop all", "checkpoint", "close", "lost before it was tidied"])


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(STEPS, max_size=8))
def test_no_record_that_holds_rows_is_left_out_when_all_are_read(tmp_path_factory, empty_store, steps):
    path, count = tmp_path_factory.mktemp("rows") / "enamels.duckdb", 0
    shutil.copyfile(empty_store, path)
    con = duckdb.connect(str(path), config=CONFIGURATION)
    for step in ["put", *steps]:
        if step == "put":
            count += 1
            con.execute(f"INSERT INTO object (object_id) VALUES ('V.{count}')")
        elif step.startswith("drop"):
            con.execute("DELETE FROM object" + (f" WHERE object_id = 'V.{count}'" if step == "drop one" else ""))
        elif step == "checkpoint":
            con.execute("CHECKPOINT")
        elif step == "close":
            con.close()
            con = duckdb.connect(str(path), config=CONFIGURATION)
        else:  # what is in the log only, as after a kill: the file and its log as they are at this moment
            copied = tmp_path_factory.mktemp("copied") / path.name
            for name in (path, log_of(path)):
                if name.exists():
                    shutil.copyfile(name, copied.with_name(name.name))
            con.close()
            path, con = copied, duckdb.connect(str(copied), config=CONFIGURATION)
        held = {name for name, rows in con.execute(COUNTED).fetchall() if rows}
        assert held <= with_rows(con)
    con.close()
