"""Battery and adapter: at rest and under a load."""
