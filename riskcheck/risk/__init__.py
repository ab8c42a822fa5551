"""Numbers: chance, loss, act-by, level and rank of every exposure."""
