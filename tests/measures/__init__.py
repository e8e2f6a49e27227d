"""Tests of the measures and the verdict."""
