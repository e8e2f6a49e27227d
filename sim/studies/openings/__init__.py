"""Openings of a breaker whose gap may re-ignite, at moments spread over one period."""
