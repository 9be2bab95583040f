"""The questions a sheet answers, one module each: from what is told to figures, tables, curves and a sentence. Pure."""
