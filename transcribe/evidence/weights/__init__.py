"""Shipped networks, each with a card beside it: data, licence, figures."""
