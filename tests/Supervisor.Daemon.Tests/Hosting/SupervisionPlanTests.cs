using Supervisor.Daemon.Hosting;

namespace Supervisor.Daemon.Tests.Hosting;

public sealed class SupervisionPlanTests
{
    private static readonly string Demo = Path.Combine(AppContext.BaseDirectory, "demo", "machine.json");

    [Fact]
    public void Read_Devices_ReplaceThoseOfTheFile()
    {
        var read = SupervisionPlan.Read(Demo, ["line-b=/tmp/b"], out var problems);

        Assert.Empty(problems);
        Assert.Equal("/tmp/b", read!.Value.Machine.Ports[1].Device);
        Assert.StartsWith("/dev/", read.Value.Machine.Ports[0].Device, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("line-c=/tmp/c", "line-a, line-b")]
    [InlineData("line-a", "NAME=PATH")]
    [InlineData("=/tmp/c", "NAME=PATH")]
    [InlineData("line-a=", "NAME=PATH")]
    public void Read_DeviceThatCannotBe_IsAnErrorThatSaysWhatToWrite(string device, string named)
    {
        Assert.Null(SupervisionPlan.Read(Demo, [device], out var problems));
        Assert.Contains(named, Assert.Single(problems), StringComparison.Ordinal);
    }

    [Fact]
    public void Read_SameDeviceTwice_IsAnError()
    {
        Assert.Null(SupervisionPlan.Read(Demo, ["line-a=/tmp/a", "line-a=/tmp/b"], out var problems));
        Assert.Contains("twice", Assert.Single(problems), StringComparison.Ordinal);
    }
}
