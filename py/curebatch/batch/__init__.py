"""From targets, pack, scale and meat to the grams of one batch, in exact fractions."""
