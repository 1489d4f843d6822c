"""The protocol: small rules that only add, their numbers in policy.toml, their sources in sources.toml."""
