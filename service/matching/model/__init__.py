"""The mathematics of a plan: numbers in, an assignment out; no clock, no database."""
