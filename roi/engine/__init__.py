"""The spreadsheet engine: expressions, blocks, columns, evaluation and formula text. It knows no printing."""
