"""Invented houses and the blunders that are planted in them; used by the benchmarks and by tests."""
