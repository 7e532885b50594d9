"""Policies: the local values of every limit, each with its unit and its source.

`typed` holds what the rest of the domain reads; `keys` is the table to add a value to; `parse`
reads a file strictly and `flatten` writes one that stands alone.
"""

from server.domain.policy.flatten import flatten
from server.domain.policy.parse import parse_policy
from server.domain.policy.sources import source_of
from server.domain.policy.typed import Policy, PolicyError, PolicyValue

__all__ = ["Policy", "PolicyError", "PolicyValue", "flatten", "parse_policy", "source_of"]
