"""From what was typed, a link, a recipe file or a found recipe to a Document."""
