"""The JSON API: parse, call one function of `graph`, shape the answer. No trade rules here."""
