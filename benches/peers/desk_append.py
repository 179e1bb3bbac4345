"""What the disk alone costs: the same rows, one a transaction, by Python's sqlite3 with the desk's pragmas.

usage: desk_append.py [reports] [folder]; prints one JSON line with milliseconds for each append.
"""

import hashlib
import json
import pathlib
import sqlite3
import sys
import tempfile
import time


def main() -> None:
    reports = int(sys.argv[1]) if len(sys.argv) > 1 else 600
    folder = tempfile.mkdtemp(dir=sys.argv[2] if len(sys.argv) > 2 else None)
    path = pathlib.Path(folder) / "log.sqlite"
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute(
        "CREATE TABLE entries (seq INTEGER PRIMARY KEY, recorded_at_ms INTEGER NOT NULL, device TEXT NOT NULL, report_id TEXT NOT NULL,"
        " part INTEGER NOT NULL, line TEXT NOT NULL, digest TEXT NOT NULL, UNIQUE (device, report_id, part)) STRICT"
    )
    before, took = "0" * 64, []
    for n in range(1, reports + 1):
        begin = time.perf_counter()
        now = time.time_ns() // 1_000_000
        entry = {
            "before": before, "seq": n, "recorded_at_ms": now, "happened_at_ms": now, "device": f"bench-phone-{n % 20}",
            "report_id": f"bench-{n}", "role": "recorder", "person": None,
            "event": {"event": "remarked", "words": f"remark {n}: bubbles near the rope, looked at, weed"},
        }
        line = json.dumps(entry)
        before = hashlib.sha256(line.encode()).hexdigest()
        db.execute("BEGIN IMMEDIATE")
        db.execute(
            "INSERT INTO entries VALUES (?, ?, ?, ?, 0, ?, ?)", (n, now, entry["device"], entry["report_id"], line, before)
        )
        db.execute("COMMIT")
        took.append((time.perf_counter() - begin) * 1000)
    db.close()
    for file in pathlib.Path(folder).iterdir():
        file.unlink()
    pathlib.Path(folder).rmdir()
    took.sort()
    at = lambda share: took[min(int(len(took) * share), len(took) - 1)]
    print(json.dumps({"workload": "desk_append", "reports": reports, "append_p50_ms": at(0.5), "append_p99_ms": at(0.99), "append_most_ms": took[-1]}))


if __name__ == "__main__":
    main()
