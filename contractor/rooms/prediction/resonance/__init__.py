"""Whether the spring of a new lining falls into what the household hears."""
