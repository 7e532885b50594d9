"""What the program tells whoever keeps it running: one line a happening, with where it belongs."""

from server.logs.context import NUMBER, belong_to, belongs_to, new_number, request_number
from server.logs.setting_up import LEVELS, LogForm, start_log

__all__ = [
    "LEVELS",
    "NUMBER",
    "LogForm",
    "belong_to",
    "belongs_to",
    "new_number",
    "request_number",
    "start_log",
]
