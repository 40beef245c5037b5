"""The day of the batch: when to do what, step by step, what was really done, and what went wrong.

``clock`` turns wall time into instants and back; ``timetable`` works the plan out; ``steps``
makes one card of each step; ``log`` and ``backup`` read and write what is kept on the device;
``mishaps`` judges mistakes; ``told`` puts all of it into words. No clock and no storage in here.
"""
