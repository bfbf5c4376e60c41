"""Second implementations in slow, plain Python, written from the published rules and used as oracles in the tests.

No NumPy, one value at a time, and another road to the same number wherever there is one: a sum over small steps where
the program has a closed form, a walk through the hours where it cuts arrays, halving where it uses a derivative.
"""
