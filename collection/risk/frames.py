"""Lazy frames of whatever engine holds them."""

from collections.abc import Mapping
from typing import Any

import narwhals as nw

Lazy = nw.LazyFrame[Any]
LazyFrames = Mapping[str, Lazy]
