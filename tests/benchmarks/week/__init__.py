"""A simulated week of wards, acted out in memory on the functions of the domain alone.

Everything in it is invented: how many units are ordered, how long work takes, who is called away.
The same seed gives both ways of calling units the same orders, people and mishaps.
"""
