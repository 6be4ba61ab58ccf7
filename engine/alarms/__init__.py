"""The alarm model, its limits and the manager that steps them."""
