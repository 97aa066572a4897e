"""Journey B: a driver's car is entered, its build declared as people type it, and last time's taken up again."""

from inspection.models import Build, Car, Driver
from tests.page_forms import form_on


def test_a_car_and_its_builds(club, director):
    form_on(director.get("/harbor/drivers/create/"), "/create/").send(director, name="Wren Halloran")
    new_car = form_on(director.get("/harbor/cars/create/"), "/create/")
    new_car.send(director, number="20", name="Blue roadster", owner=new_car.choice("owner", "Wren Halloran"))
    car = Car.objects.get()
    assert car.owner == Driver.objects.get()

    address = f"/harbor/cars/{car.public_id}/builds/create/"
    sheet = form_on(director.get(address), "/builds/create/")
    sizes = {"of__overall__width": "2 1/2 in", "of__rear__tire__diameter": "19,4 mm", "of__pinion__teeth": "12"}
    shown = sheet.send(director, motor="Short can", **sizes)
    assert b"Short can" in shown.content
    first = Build.objects.get()
    assert (first.number, first.declared.count()) == (1, 3)

    # What was declared last time stands in the sheet: one thing is changed, and the first build stays as it was.
    again = form_on(director.get(address), "/builds/create/")
    assert again.values["of-overall-width"] == ["2 1/2 in"]
    again.send(director, of__pinion__teeth="11")
    second = Build.objects.get(number=2)
    assert second.declared.get(characteristic__code="pinion-teeth").text == "11"
    assert first.declared.get(characteristic__code="pinion-teeth").text == "12"
    assert second.motor == "Short can"
