"""Sheets to take to the door: one page a lot."""

from __future__ import annotations

from screening.outputs.sheets.document import sheet_lots, write_sheets

__all__ = ["sheet_lots", "write_sheets"]
