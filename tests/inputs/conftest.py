import pyogrio
import pytest


@pytest.fixture(autouse=True, scope="session")
def quick_geopackages():
    """Test files need not outlive a power cut."""
    pyogrio.set_gdal_config_options({"OGR_SQLITE_SYNCHRONOUS": "OFF"})
    yield
    pyogrio.set_gdal_config_options({"OGR_SQLITE_SYNCHRONOUS": None})
