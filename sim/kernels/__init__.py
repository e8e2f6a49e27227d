"""Compiled kernels: numbers in, numbers out.  No names, units, files or exceptions in here.

`columns` holds numbers only and loads no compiler; everything else goes through `jit`.
"""
