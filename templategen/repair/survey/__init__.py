"""As found: what the readings of a survey amount to, each number with its uncertainty.

u     standard uncertainty, one standard deviation
pm    expanded, k = 2 (JCGM 100:2008, 6.2)
"""
