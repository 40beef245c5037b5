"""The parts of a card, one module each, called by ``card.make`` in their order.

Each takes the Document, the Batch as it will be weighed and the Messages, adds what it
has to say to the messages, and returns plain data with ready texts, or None where it has
nothing to show. What belongs to the verdict is said whenever weights are given; figures
for the rest of the page only where the whole card is asked for.
"""
