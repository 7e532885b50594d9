"""Which published definitions a finished unit's record meets: afterwards, for the reviewer."""

from server.domain.reaction_definitions import Classified, charted_in, classify
from server.services.actor import Actor
from server.services.errors import Conflict
from server.services.permissions import Act, require
from server.services.read_episode import EpisodeRead


def classify_reaction(actor: Actor, read: EpisodeRead) -> tuple[Classified, ...]:
    """Answer what every definition says of a unit that was read.

    Raises `Forbidden`, and `Conflict` while the unit has not ended: a definition is no reason to
    act or not to act at the bedside.
    """
    require(actor, Act.CLASSIFY, read.ward.id)
    episode = read.picture.episode
    if episode.ended_at is None:
        raise Conflict("a reaction is classified when the unit has ended")
    return classify(charted_in(read.picture.case, episode))
