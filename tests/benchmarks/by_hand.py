"""The same ranked frame as `triage` gives, written by hand in Polars for the made-up collection, as one would without
the register: one query, no rules, no engines, no reasons. It is what the register's time is compared with."""

from datetime import date

import polars as pl

from collection.facts.facts import traits
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import load_parameters, vocabulary

c = pl.col


def ranked_by_hand(k: Collection, rates: RatesTable, as_of: date) -> pl.DataFrame:
    """RISK with attention, in rank order."""
    checks = (
        k["condition_check"].lazy()
        .filter((c("checked_on_earliest") <= as_of).fill_null(True))
        .select("check_id", "object_id", "look", seen_on="checked_on_latest")
        .sort("seen_on", "check_id").with_row_index("nth")
    )  # fmt: skip
    parts = _parts(k, rates)
    both = pl.concat([_damage(k, checks, rates, as_of), _repairs(k, checks, rates, as_of)])
    hazards = _hazards(both, parts, rates).collect(engine="in-memory")
    looks = checks.group_by("object_id").agg(c("nth").max()).join(checks, on=["object_id", "nth"])
    risk = _risk(k, hazards, looks, rates, as_of)
    ranked = _classes(k, hazards, risk, as_of, rates)
    now = {term: place for place, term in enumerate(vocabulary("attention").terms_where("now"))}
    place = c("attention").replace_strict(now, default=len(now), return_dtype=pl.Int64)
    losses = [c(name).fill_null(0.0).round_sig_figs(12) for name in ("annual_loss", "unchecked_loss")]
    return ranked.sort(place, *losses, "object_id", descending=[False, True, True, False])


def _parts(k: Collection, rates: RatesTable) -> pl.LazyFrame:
    shape = c("object_type").replace_strict(vocabulary("object_type").properties("shape"), default=rates.shape_else)
    h, w = c("height_mm"), c("width_mm")
    wide, high, deep = w.fill_null(h), h.fill_null(w), w.fill_null(h)
    across = pl.max_horizontal("diameter_mm", "width_mm", "height_mm", "depth_mm")
    pi = 3.141592653589793
    area = (
        pl.when(shape == "open_round").then(across * across * pi / 2)
        .when(shape == "tall_round").then(wide * high * (0.8 * pi))
        .when(shape == "boxed").then(2 * high * wide + 2 * high * deep + 2 * wide * deep)
        .otherwise(high * wide)
    )  # fmt: skip
    objects = k["object"].lazy().select("object_id", "location_id", area=area.fill_null(rates.assumed.area_mm2))
    return k["part"].lazy().select("object_id", "part").join(objects, on="object_id")


def _damage(k: Collection, checks: pl.LazyFrame, rates: RatesTable, as_of: date) -> pl.LazyFrame:
    damage = k["damage"].lazy().filter(c("closed_on").is_null() | (c("closed_on") > as_of))
    silent = vocabulary("change").terms_where("says_nothing")
    lines = (
        k["observation"].lazy()
        .filter(c("change").is_null() | ~c("change").is_in(silent))
        .select("check_id", "damage_id", "extent_band", "length_mm", state="activity")
        .join(checks.select("check_id", "nth"), on="check_id")
    )  # fmt: skip
    last = lines.join(lines.group_by("damage_id").agg(c("nth").max()), on=["damage_id", "nth"])
    (unsaid,) = vocabulary("activity").terms_where("not_assessed")
    quiet = c("state").is_in(vocabulary("activity").terms_where("needs_climate_held"))  # nobody measured the climate
    table = rates.damage.lazy().filter(c("stage") == 0).select("rate_row", "stood_in", kind="term", state="state")
    return (
        damage.select("damage_id", "object_id", "part", "kind", "visibility")
        .join(last, on="damage_id", how="left")
        .with_columns(said=c("state").is_null(), state=pl.when(quiet).then(pl.lit(unsaid)).otherwise("state").fill_null(unsaid))
        .join(table, on=["kind", "state"], how="left")
        .select("object_id", "part", "rate_row", "visibility", "extent_band", "length_mm",
                assumed_state=c("said") | c("stood_in"))
    )  # fmt: skip


def _repairs(k: Collection, checks: pl.LazyFrame, rates: RatesTable, as_of: date) -> pl.LazyFrame:
    lines = k["repair_state"].lazy().join(checks.select("check_id", "nth"), on="check_id")
    lines = lines.select("repair_id", "nth", "extent_band", state="stability")
    last = lines.join(lines.group_by("repair_id").agg(c("nth").max()), on=["repair_id", "nth"])
    (unsaid,) = vocabulary("stability").terms_where("not_assessed")
    table = rates.repair.lazy().select("rate_row", "material", "state", function="term")
    return (
        k["repair"].lazy().select("repair_id", "object_id", "part", "function", "material", "visibility")
        .join(last, on="repair_id", how="left")
        .with_columns(said=c("state").is_null(), state=c("state").fill_null(unsaid))
        .join(table, on=["function", "material", "state"], how="left")
        .select("object_id", "part", "rate_row", "visibility", "extent_band",
                length_mm=pl.lit(None, pl.Float64), assumed_state="said")
    )  # fmt: skip


def _hazards(both: pl.LazyFrame, parts: pl.LazyFrame, rates: RatesTable) -> pl.LazyFrame:
    weights = {term: float(w) for term, w in vocabulary("visibility").properties("weight").items()}
    edge = c("at_risk") == "edge"
    width = pl.when(edge).then(rates.at_risk.edge_width_mm).otherwise(rates.at_risk.line_width_mm)
    measured = c("length_mm") * width / c("area")
    rim = pl.when(edge).then(rates.at_risk.missing_edge_share).otherwise(1.0)
    factor = rates.assumed.measured_factor * rates.assumed.area_factor
    taken = pl.when("enamel_gone").then(pl.coalesce(measured, "band_likely", "else_likely")).otherwise(0.0)
    left = 1 - taken.sum().over("object_id", "part").clip(upper_bound=1)
    shares = {
        "low": pl.coalesce(measured / factor, c("band_low") * rim, c("else_low") * rim),
        "share": pl.coalesce(measured, c("band_likely") * rim, c("else_likely") * rim),
        "high": pl.coalesce(measured * factor, c("band_high") * rim, c("else_high") * rim),
    }
    rows = rates.rows.lazy().select(
        "rate_row", "at_risk", "enamel_gone", "years_short", "years_likely", "years_long", "loss_depth",
        "else_low", "else_likely", "else_high",
    )  # fmt: skip
    return (
        both.join(parts, on=["object_id", "part"])
        .join(rows, on="rate_row", how="left")
        .join(rates.extent.lazy(), on="extent_band", how="left")
        .with_columns(weight=c("visibility").replace_strict(weights, default=1.0, return_dtype=pl.Float64), left=left)
        .with_columns(pl.min_horizontal(its, "left").alias(name) for name, its in shares.items())
        .with_columns(reach=1 - (1 - c("share")) ** c("weight"), rate=1 / c("years_likely"))
        .with_columns(log_kept=(-c("reach") * _gone(c("rate") * c("loss_depth"))).log1p())
        .with_columns(
            width=((c("years_long") / c("years_short")).log10() ** 2
                   + pl.when(c("low") > 0).then(c("high") / c("low")).otherwise(1.0).log10() ** 2).sqrt(),
            assumed=c("assumed_state").cast(pl.Int64) + c("length_mm").is_not_null().cast(pl.Int64)
            + (c("length_mm").is_null() & c("extent_band").is_null()).cast(pl.Int64),
        )
        .select("object_id", "part", "rate_row", "rate", "reach", "loss_depth", "log_kept", "width", "assumed")
    )  # fmt: skip


def _risk(k: Collection, hazards: pl.DataFrame, looks: pl.LazyFrame, rates: RatesTable, as_of: date) -> pl.LazyFrame:
    counts = c("reach") * c("loss_depth") >= rates.lines.p12_counts_losses_from
    sums = hazards.lazy().group_by("object_id").agg(
        hazards=pl.len(),
        assumed=c("assumed").sum(),
        log_kept=c("log_kept").sum(),
        widths=(c("width") * c("log_kept")).sum(),
        counted=c("rate").filter(counts).sum(),
        moving=c("rate_row").is_in(_rows(rates, "moving")).any(),
    )  # fmt: skip
    r = pl.when(c("hazards") > 0).then(_gone(-c("log_kept"))).otherwise(0.0)
    loss = pl.when(c("annual_loss") > 0).then(c("annual_loss"))
    median = c("value_points").median()
    points = c("value_points").fill_null(median)
    seen = looks.select("object_id", "look", last_checked_on="seen_on")
    base = (
        k["object"].lazy().select("object_id", "location_id", "technique", "base_metal", "provenance_class", "culture",
                                  "latest_year", "glass_stability", value_share=points / points.sum(),
                                  value_assumed=c("value_points").is_null())
        .join(seen, on="object_id", how="left").join(sums, on="object_id", how="left")
        .with_columns(c("hazards", "assumed").fill_null(0).cast(pl.UInt32), annual_loss=r)
        .with_columns(
            chance_12_months=1 - (-c("counted").fill_null(0.0)).exp(),
            magnitude=(15 + loss.log10()).round(9),
            collection_magnitude=(15 + (loss * c("value_share")).log10()).round(9),
            width=pl.when(c("annual_loss") > 0).then(c("widths") / c("log_kept")),
        )
    )  # fmt: skip
    return _unseen(base, as_of)


def _gone(x: pl.Expr) -> pl.Expr:
    """1 - exp(-x) without losing digits."""
    return 2 * (x / 2).sinh() * (-x / 2).exp()


def _unseen(base: pl.LazyFrame, as_of: date) -> pl.LazyFrame:
    rows = load_parameters("unseen")["unseen"]
    group = pl.lit(None, pl.Int32)
    for n, row in reversed(list(enumerate(rows))):
        group = pl.when(_fits(row)).then(n).otherwise(group)
    figures = (
        pl.LazyFrame(rows)
        .with_row_index("group")
        .select(c("group").cast(pl.Int32), "chance_active", "loss_if_active_per_year", "new_active_per_year")
    )
    seen = c("last_checked_on").is_not_null()
    active = (seen & c("moving").fill_null(False)).sum().over("group")
    chance = (10 * c("chance_active") + active) / (10 + seen.sum().over("group"))
    years = (pl.lit(as_of) - c("last_checked_on")).dt.total_days() / 365.25
    since = pl.when(seen).then(1 - (-years * c("new_active_per_year") / c("chance")).exp()).otherwise(1.0)
    return (
        base.with_columns(group=group).join(figures, on="group", how="left").with_columns(chance=chance)
        .with_columns(unchecked_loss=c("chance") * c("loss_if_active_per_year") * since)
    )  # fmt: skip


def _fits(row: dict[str, object]) -> pl.Expr:
    tests = [c(name).is_in(row[name]).fill_null(False) for name in ("base_metal", "provenance_class") if name in row]
    if "technique" in row:
        terms = [t for t in vocabulary("technique").term if _above(t) & set(row["technique"])]
        tests.append(c("technique").list.first().is_in(terms).fill_null(False))
    if "culture_words" in row:
        tests.append(c("culture").str.to_lowercase().str.contains_any(row["culture_words"]).fill_null(False))
    if "latest_year_at_most" in row:
        tests.append((c("latest_year") <= row["latest_year_at_most"]).fill_null(False))
    return pl.all_horizontal(pl.lit(True), *tests)


def _above(term: str) -> set[str]:
    broader = vocabulary("technique").term[term].broader
    return {term} | (_above(broader) if broader else set())


def _rows(rates: RatesTable, *names: str) -> list[int]:
    """Rows of the rates with any of these properties."""
    return traits(rates).filter(pl.any_horizontal(names))["rate_row"].to_list()


def _classes(k: Collection, hazards: pl.DataFrame, risk: pl.LazyFrame, as_of: date, rates: RatesTable) -> pl.DataFrame:
    t = traits(rates)
    unstable = c("unstable_glass") & ~c("needs_climate_held")
    lets_go = c("lets_go") | c("no_longer_works") | c("does_harm")
    secure = (
        (c("secure") & c("moving")) | c("secure_always") | (c("snags") & c("moving"))
        | (c("bears") & c("no_longer_works")) | (c("does_harm") & ~c("only_colour"))
    )  # fmt: skip
    months = [
        (c("moving"), 3), (c("one_sighting") | unstable, 6), ((c("unstable_glass") & c("needs_climate_held"))
        | (c("lifts") & ~c("moving")) | lets_go, 12), (c("not_compared") | (c("bears") & c("ages")), 24),
    ]  # fmt: skip
    first = pl.coalesce(*(pl.when(rule).then(m) for rule, m in months))
    of_row = t.lazy().select(
        "rate_row", "unstable_glass",
        secure_row=secure,
        place_row=c("isolate") & (c("moving") | c("one_sighting")),
        ask_row=(c("not_assessed") | c("one_sighting")) & c("fast"),
        months_row=first, coated=c("over_surface"), quiet=c("unstable_glass") & c("needs_climate_held"),
    )  # fmt: skip
    flags = hazards.lazy().select("object_id", "rate_row").join(of_row, on="rate_row").group_by("object_id").agg(
        c("secure_row", "place_row", "ask_row", "coated", "unstable_glass", "quiet").any(), c("months_row").min()
    )  # fmt: skip
    bad = vocabulary("place_fault").terms_where("better_place")
    faults = k["place_check"].filter(c("seen_on") <= as_of)
    harmful, plain = (faults.filter(c("fault").is_in(bad) == flag)["location_id"].to_list() for flag in (True, False))
    return _attention(risk.join(flags, on="object_id", how="left"), (harmful, plain), as_of, rates)


def _attention(
    joined: pl.LazyFrame, faults: tuple[list[str], list[str]], as_of: date, rates: RatesTable
) -> pl.DataFrame:
    known_unstable = c("glass_stability").is_in(vocabulary("glass_stability").terms_where("unstable")).fill_null(False)
    flag = c("secure_row", "place_row", "ask_row", "coated", "unstable_glass", "quiet").fill_null(False)
    six = (known_unstable & ~c("quiet")) | (c("coated") & (known_unstable | c("unstable_glass")))
    steel = c("base_metal").is_in(["steel", "iron"]) & c("provenance_class").is_in(["outdoor"])
    reason = pl.min_horizontal("months_row", pl.when(six | steel.fill_null(False)).then(6))
    sound = pl.any_horizontal(_fits(row) for row in load_parameters("interval_months")["nothing_found"]) & (
        c("hazards") == 0
    )
    months = reason.fill_null(pl.when(sound).then(120).otherwise(60))
    due = pl.coalesce(
        pl.when(c("months") == m).then(c("last_checked_on").dt.offset_by(f"{m}mo")) for m in (3, 6, 12, 24, 60, 120)
    )
    terms = list(vocabulary("attention").term)
    above = c("annual_loss") >= rates.lines.treat_from
    place = (
        pl.when("secure_row").then(0)
        .when(c("place_row") | c("location_id").is_in(faults[0])).then(1)
        .when(c("last_checked_on").is_null()).then(2)
        .when(above & (c("width") < rates.lines.width_line)).then(4)
        .when(above | c("ask_row") | (due < as_of)).then(5)
        .when(reason.is_not_null() | c("location_id").is_in(faults[1])).then(6)
        .otherwise(7)
    )  # fmt: skip
    told = joined.with_columns(flag).with_columns(months=months).with_columns(place=place)
    return told.select(
        "object_id", "location_id", "look", "hazards", "assumed", "last_checked_on", "value_assumed", "value_share",
        "annual_loss", "unchecked_loss", "chance_12_months", "magnitude", "collection_magnitude", "width",
        attention=c("place").replace_strict(dict(enumerate(terms))),
    ).collect(engine="in-memory")  # fmt: skip
