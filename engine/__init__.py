"""The engine: pure arithmetic on samples; no files, sockets, clocks or screens."""
