"""Typed facts, one model a kind, each with where it came from and how old it is.

Gives `Forecast`, `Agenda`, `Series`, `Track` and `Sky`. Instants are aware and in UTC; dates stay dates.
"""
