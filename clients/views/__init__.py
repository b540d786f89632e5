"""The front desk's pages."""
