"""Does a thing fit, in any turn: the bodies that stand for it, the turns it may take, the search and the answer."""
