"""Why a limit was not kept, as the record shows it, and what would have kept it.

The chain of facts is worked out from events, shifts and plan; it is never called a cause, which is
what somebody gives. What would have kept the limit is proven by running the engine again.
"""
