"""What each way of making plates costs a printing shop, over years, from the shop's own work."""

__version__ = "0.1.0"
