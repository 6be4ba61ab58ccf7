"""Tests and drills that a person announces: criteria first, then all gauges together, a verdict.

A trial is a fold over bins of five seconds while it runs. It changes no detector and no limit,
and its verdict, whatever it is, does not either.
"""
