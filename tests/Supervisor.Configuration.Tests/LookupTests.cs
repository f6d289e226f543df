using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Tests;

public sealed class LookupTests
{
    [Fact]
    public void AxisIndex_KnownAndUnknown_IsTheFilesOrderOrMinusOne()
    {
        var machine = Samples.Machine(Samples.Demo("machine.json"));

        Assert.Equal([0, 1, 2, 3, -1], new[] { "tray", "gantry", "dibber", "drum", "Drum" }.Select(name => machine.AxisIndex(name)));
        Assert.Equal((1, -1), (machine.PortIndex("line-b"), machine.PortIndex("line-c")));
        Assert.Equal((1, -1), (machine.InterlockIndex("front guard"), machine.InterlockIndex("guard")));
    }

    [Theory]
    [InlineData("diber", "no axis \"diber\"; did you mean \"dibber\"?")]
    [InlineData("DRUM", "no axis \"DRUM\"; did you mean \"drum\"?")]
    [InlineData("winder", "no axis \"winder\"; known: \"tray\", \"gantry\", \"dibber\", \"drum\"")]
    public void DescribeUnknownAxis_NearOrFar_SuggestsOrLists(string name, string expected) =>
        Assert.Equal(expected, Samples.Machine(Samples.Demo("machine.json")).DescribeUnknownAxis(name));

    [Theory]
    [InlineData("velocty", "velocity")]
    [InlineData("veloctiy", "velocity")]
    [InlineData("VELOCITY", "velocity")]
    [InlineData("speed", null)]
    [InlineData("", null)]
    public void Nearest_Slips_AreFoundAndOtherWordsAreNot(string name, string? expected) =>
        Assert.Equal(expected, Nearest.Find(name, ["position", "velocity", "acceleration"]));
}
