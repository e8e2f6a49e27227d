"""Tests of the engines, and the circuits that they and the tests of physics share."""
