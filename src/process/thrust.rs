//! Critical thrust of the plies left, thrust laws, and where slowing down must begin.
