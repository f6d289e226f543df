using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Alarms;

/// <summary>Alarms of real faults on simulated drives, over a restart of the supervisor.</summary>
public sealed class AlarmLifeTests
{
    private static readonly TimeSpan Hour = TimeSpan.FromHours(1);

    [Fact]
    public void Fault_AcknowledgedBeforeARestart_IsStillAcknowledgedWhenItsDriveTellsItAgain()
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 71);
        machine.StartUp();
        machine.World.Drive("tray").Trip(0x4310);
        machine.RunUntil(() => Of(machine, FaultCode.OverTemperature, "tray") is not null, 5, "the alarm");
        machine.Done(new AcknowledgeCommand([], "Ada"));
        machine.Done(new OutOfServiceCommand([Key(machine, FaultCode.LinkLost, "drum")], Hour, "its cable is laid anew", "Ada"));

        machine.Restart(1);
        machine.RunUntil(() => machine.Axis("tray") is { Online: true, State: AxisState.Faulted }, 10, "the tray met");
        machine.Run(10);

        // The drive's own fault was told by the new supervisor as well.
        Assert.True(machine.Journal.Faults.Count(fault => fault.Code == FaultCode.OverTemperature) >= 2);
        var alarm = Of(machine, FaultCode.OverTemperature, "tray")!;
        Assert.Equal((AlarmState.AcknowledgedActive, "Ada"), (alarm.State, alarm.Acknowledged!.By));
        Assert.Equal("Ada", Of(machine, FaultCode.LinkLost, "drum")!.OutOfService!.By);

        // It is no reset; and a reset without the cause is the end of it.
        Assert.Equal(AxisState.Faulted, machine.State("tray"));
        machine.PressReset();
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        machine.Done(new ResetCommand(machine.Axes("tray")));
        machine.Run(1);
        Assert.Null(Of(machine, FaultCode.OverTemperature, "tray"));
    }

    [Fact]
    public void Fault_ThatIsGoneAfterARestart_IsOverWhereSomebodyKnewOfIt()
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 72);
        machine.StartUp();
        machine.World.Drive("tray").Trip(0x4310);
        machine.World.Drive("drum").Trip(0x4310);
        machine.RunUntil(() => Of(machine, FaultCode.OverTemperature, "tray") is not null && Of(machine, FaultCode.OverTemperature, "drum") is not null, 5, "the alarms");
        machine.Done(new AcknowledgeCommand([new AlarmChoice(null, AlarmSource.Axis(machine.World.Axis("tray")))], "Ada"));
        machine.Done(new ResetCommand(machine.Axes("tray", "drum")));
        machine.Run(1);
        Assert.Null(Of(machine, FaultCode.OverTemperature, "tray"));
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(machine, FaultCode.OverTemperature, "drum")!.State);

        machine.Restart(1);
        machine.RunUntil(() => machine.Axis("drum").Online, 10, "the drum met");
        machine.Run(10);
        Assert.Equal(AlarmState.ReturnedUnacknowledged, Of(machine, FaultCode.OverTemperature, "drum")!.State);
    }

    private static AlarmKey Key(SupervisedMachine machine, FaultCode code, string axis) => new((int)code, AlarmSource.Axis(machine.World.Axis(axis)));

    private static AlarmStatus? Of(SupervisedMachine machine, FaultCode code, string axis) =>
        machine.Control.Alarms.Alarms.SingleOrDefault(alarm => alarm.Key == Key(machine, code, axis));
}
