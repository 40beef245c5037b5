"""What a person sees: pages and sections, drawings, plain text.

Views compute nothing. They put the ready-made texts of a card in their places;
every other word comes from the catalogue.
"""
