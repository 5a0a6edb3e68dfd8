"""Tests of earthwright.physics."""
