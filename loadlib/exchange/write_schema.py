"""Write the committed JSON Schema anew: ``python -m loadlib.exchange.write_schema``."""

from __future__ import annotations

import json
from pathlib import Path

from loadlib.exchange.json_document import SCHEMA_FILE, generated_schema

if __name__ == "__main__":
    text = json.dumps(generated_schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"
    Path(__file__).with_name(SCHEMA_FILE).write_text(text, encoding="utf-8")
