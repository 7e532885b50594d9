"""What changed, told to those who watch: in this process at once, from other processes in a second.

`Feed` finds out what changed and when; `Streams` keeps what is said of it encoded once for all who
listen; `StreamResponse` sends it to one of them.
"""

from server.live.channel import Encoder
from server.live.feed import Feed
from server.live.messages import seen_revision, server_sent
from server.live.news import News, Pulse, Source, Tick
from server.live.response import StreamResponse
from server.live.streams import Streams

__all__ = [
    "Encoder",
    "Feed",
    "News",
    "Pulse",
    "Source",
    "StreamResponse",
    "Streams",
    "Tick",
    "seen_revision",
    "server_sent",
]
