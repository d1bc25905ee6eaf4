"""Tests of the store, on real databases."""
