"""The record of one transfusion for the notes: pure views, one part of the paper a file."""
