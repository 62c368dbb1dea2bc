"""Asks the table questions in SQL and holds the answers against the report in JSON Lines."""

import json
import sys

import duckdb

table, lines = sys.argv[1], [json.loads(line) for line in open(sys.argv[2], encoding="utf-8")]
programs = [line for line in lines if line["kind"] == "program"]
findings = [line for line in lines if line["kind"] == "finding"]


def ask(question):
    return duckdb.sql(question.replace("FLEET", f"read_parquet('{table}')")).fetchall()


def same(what, asked, known):
    if asked != known:
        sys.exit(f"{what}: the table says {asked}, the report {known}")


same(
    "programs",
    ask("select program, blocks, holes from FLEET where kind = 'program' order by program"),
    sorted((one["program"], one["coverage"]["blocks"], one["coverage"]["holes"]) for one in programs),
)
places = sum(max(1, len(one["places"])) for one in findings)
same("findings", ask("select count(*) from FLEET where kind = 'finding'"), [(places,)])
rules = {}
for one in findings:
    rules.setdefault(one["rule"], set()).add(one["program"])
same(
    "programs of each rule",
    ask("select rule, count(distinct program) from FLEET where kind = 'finding' group by rule order by rule"),
    sorted((rule, len(names)) for rule, names in rules.items()),
)
missing = sum(len(one["not_checked"]) for one in programs)
same("not checked", ask("select count(*) from FLEET where kind = 'not-checked'"), [(missing,)])
holes = sum(one["coverage"]["holes"] for one in programs)
same("holes", ask("select count(*) from FLEET where kind = 'hole'"), [(holes,)])
lines_of = sorted(
    {(one["program"], place["line"], place["tool"]) for one in findings for place in one["places"]},
    key=lambda row: (row[0], row[1], row[2] or 0),
)
same(
    "places",
    ask(
        "select distinct program, line, tool from FLEET where kind = 'finding' and line is not null "
        "order by program, line, coalesce(tool, 0)"
    ),
    lines_of,
)
# The clean root plate: 36 holes slowed to 0.03 mm/rev at the exit, as its job file asks.
same(
    "exit feeds",
    ask(
        "select count(*), round(max(exit_feed_mm_rev), 4) from FLEET "
        "where kind = 'hole' and feature like 'H%' and tool = 11 and program like '%root_plate_op20.nc'"
    ),
    [(36, 0.03)],
)
edges = ask("select count(*), min(length_mm) > 0 from FLEET where kind = 'edge' and program like '%hatch_op40.nc'")
if not edges[0][0] or not edges[0][1]:
    sys.exit(f"edges of the hatch: {edges}")
print(f"{len(programs)} programs, {places} places, {holes} holes: table and report agree")
