"""Exact patterns near rounded drawings, and near those that do not hold."""
