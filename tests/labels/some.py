"""Labels that several tests draw."""

from inventory.labels.label import Label

BAG = Label("bag", "Bag 3 Join", code="LBG000007W", lines=("Kit 12", "Van North"))
UNIT = Label("unit", "Module", pairs=(("01", "09521234543213"), ("21", "AB12CD")))
LOT = Label("carton", "Gland M25", pairs=(("01", "09521234543213"), ("10", "LOT-7788")))
LONG = Label("unit", "Module", pairs=(("01", "09521234543213"), ("21", "abCDefGHijKLmnOPqrST")))
QR = Label("bin", "Bay 3, shelf 2", code="LBB000001Z", matrix="qr")
NINES = Label("unit", "Odd serial", code="9912345678")
EVERY = (BAG, UNIT, LOT, LONG, QR, NINES)
