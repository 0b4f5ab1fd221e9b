"""From a file of rows, text or spreadsheet, to checked cells."""
