from screening.background import Background, OnlineTiles, Photo, PhotoFile

SECRET = OnlineTiles("https://Tiles.Example.org:8443/{z}/{x}/{y}.png?key=SECRET", "Made up")


def test_the_origin_is_scheme_host_and_port_alone():
    assert SECRET.origin == "https://tiles.example.org:8443"
    assert SECRET.host == "tiles.example.org:8443"
    assert OnlineTiles("http://a:b@tiles.example.org/{z}/{x}/{y}", "x").origin == "http://tiles.example.org"
    assert SECRET.carries_query
    assert not OnlineTiles("https://tiles.example.org/{z}/{x}/{y}", "x").carries_query


def test_the_record_tells_files_and_origins_and_no_key():
    photo = Photo((PhotoFile("/somewhere/photo.tif", "photo.tif", "WKT"),))
    record = Background(photo, SECRET, None).record()
    assert record == {"photo": ["photo.tif"], "tiles": "https://tiles.example.org:8443"}
    assert Background().record() == {}
