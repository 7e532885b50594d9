"""The live boards: drawn row by row, kept in memory, sent as they change."""
