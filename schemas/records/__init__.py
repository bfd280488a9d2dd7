"""The declarations: one class a record. `schemas.tables` derives everything else from them."""
