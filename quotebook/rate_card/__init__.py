"""The owner's whole configuration as a workbook: its layout, its rules, its reader and its writer."""
