"""Workbooks in and out."""
