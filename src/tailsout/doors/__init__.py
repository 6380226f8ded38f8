"""How people come in: the only place that prints, exits or makes a clock."""
