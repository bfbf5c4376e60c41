"""Small orchards in pairs: the situation, and the same with its deciding fact turned."""
