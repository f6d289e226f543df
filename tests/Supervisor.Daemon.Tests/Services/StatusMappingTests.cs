using Supervisor.Daemon.Services;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Services;

public sealed class StatusMappingTests
{
    [Fact]
    public void ToMessage_EveryState_KeepsItsName()
    {
        foreach (var state in Enum.GetValues<AxisState>())
        {
            Assert.Equal(state.ToString(), StatusMapping.ToMessage(state).ToString());
        }
    }

    [Fact]
    public void ToMessage_EveryDetail_KeepsItsName()
    {
        foreach (var detail in Enum.GetValues<AxisDetail>().Where(detail => detail != AxisDetail.None))
        {
            Assert.Equal(detail.ToString(), StatusMapping.ToMessage(detail).ToString());
        }

        Assert.Equal(Api.V1.AxisDetail.Unspecified, StatusMapping.ToMessage(AxisDetail.None));
    }

    [Fact]
    public void ToMessage_EveryOutcome_KeepsItsName()
    {
        foreach (var outcome in Enum.GetValues<Records.Commands.Outcome>().Where(outcome => outcome != Records.Commands.Outcome.None))
        {
            Assert.Equal(outcome.ToString(), MotionServer.ToMessage(outcome).ToString());
        }
    }

    [Fact]
    public void ToMessage_Inputs_AreTheBitsInTheOrderOfTheDefinition()
    {
        var machine = SmallMachine.With("a");
        var names = machine.Axes[0].Drive.Inputs.Keys.ToArray();
        var status = Samples.Status(Samples.Axis("a") with { Inputs = 0b10 });

        var inputs = StatusMapping.ToMessage(status, machine).Axes[0].Inputs;

        Assert.Equal(names, inputs.Select(input => input.Name));
        Assert.Equal(names.Select((_, bit) => bit == 1), inputs.Select(input => input.Closed));
    }

    [Fact]
    public void ToMessage_FaultAndHolder_AreNamed()
    {
        var status = Samples.Status(Samples.Axis("a") with { Fault = FaultCode.LinkLost, DriveCode = 0x7510 }) with { AuthorityHolder = "someone" };

        var message = StatusMapping.ToMessage(status, SmallMachine.With("a"));

        Assert.Equal("LINK_LOST", message.Axes[0].Fault);
        Assert.Equal(0x7510u, message.Axes[0].DriveCode);
        Assert.Equal("someone", message.AuthorityHolder);
        Assert.False(StatusMapping.ToMessage(status with { AuthorityHolder = null }, SmallMachine.With("a")).HasAuthorityHolder);
    }
}
