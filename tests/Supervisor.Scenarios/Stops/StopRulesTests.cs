using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>The rules of stopping and resetting as tables on moving plants, the clause beside each row; clauses were read in secondary texts unless a row says otherwise.</summary>
/// <remarks>The supervisor is no safety device: these rules are kept besides the wired circuit, never instead of it.</remarks>
public sealed class StopRulesTests
{
    private const int EmergencyStop = 0;
    private const int Guard = 1;
    private const int Process = 2;

    [Theory]
    //          interlock      category  brakes under torque  torque afterwards
    [InlineData(EmergencyStop, 0,        false,               false)] // IEC 60204-1, 9.2.2: immediate removal of power
    [InlineData(EmergencyStop, 1,        true,                false)] // IEC 60204-1, 9.2.2: controlled stop, then removal of power
    [InlineData(Guard,         0,        false,               false)] // IEC 60204-1, 9.2.2
    [InlineData(Guard,         1,        true,                false)] // IEC 60204-1, 9.2.2
    [InlineData(Guard,         2,        true,                true)]  // IEC 60204-1, 9.2.2: controlled stop, power kept
    [InlineData(Process,       0,        false,               false)] // IEC 60204-1, 9.2.2
    [InlineData(Process,       1,        true,                false)] // IEC 60204-1, 9.2.2
    [InlineData(Process,       2,        true,                true)]  // IEC 60204-1, 9.2.2
    public void Open_InMotion_StopsByItsCategory(int interlock, int category, bool brakesUnderTorque, bool torqueAfterwards)
    {
        var machine = Crossing(interlock, category);
        Open(machine, interlock, true);
        var atSpeed = Math.Abs(Gantry(machine).Plant.VelocityCounts);
        var (lostAtSpeed, braked) = (false, false);
        machine.RunUntil(
            () =>
            {
                var speed = Math.Abs(Gantry(machine).Plant.VelocityCounts);
                lostAtSpeed |= !Gantry(machine).Plant.Powered && speed > 0.3 * atSpeed;
                braked |= Gantry(machine).Plant.Powered && speed < 0.3 * atSpeed;
                return speed < 1;
            },
            20, "the gantry stands");
        Assert.Equal((!brakesUnderTorque, brakesUnderTorque), (lostAtSpeed, braked));
        machine.Run(1);
        Assert.Equal(torqueAfterwards, Gantry(machine).Plant.Powered);
        Assert.Equal(torqueAfterwards ? AxisState.Ready : AxisState.Disabled, machine.State("gantry"));
    }

    [Theory]
    //          interlock      what is done                          permitted
    [InlineData(EmergencyStop, "button while open",                  false)] // 2006/42/EC annex I 1.2.4.3: the command stays until it is overridden on purpose
    [InlineData(EmergencyStop, "close",                              false)] // 2006/42/EC annex I 1.2.4.3; ISO 13850 (from memory): disengaging alone restarts nothing
    [InlineData(EmergencyStop, "close, reset by command",            false)] // reset at the machine only: ISO 13850 (from memory)
    [InlineData(EmergencyStop, "close, button",                      true)]  // 2006/42/EC annex I 1.2.4.3: disengaging and resetting permit a restart
    [InlineData(Guard,         "button while open",                  false)] // common practice: as an emergency stop
    [InlineData(Guard,         "close",                              false)] // ISO 13849-1, 5.2.2 manual reset (from memory)
    [InlineData(Guard,         "close, reset by command",            false)] // ISO 13849-1, 5.2.2: from where the danger zone is seen (from memory)
    [InlineData(Guard,         "close, button",                      true)]  // ISO 13849-1, 5.2.2 (from memory)
    [InlineData(Process,       "close",                              false)] // the machine file's rule: latched
    [InlineData(Process,       "close, reset by command",            true)]  // the machine file's rule: a process condition is reset from afar
    public void Reset_ByThat_PermitsAndNothingMoves(int interlock, string done, bool permitted)
    {
        var machine = Crossing(interlock, category: 1);
        Open(machine, interlock, true);
        machine.RunUntil(() => machine.State("gantry") == AxisState.Disabled, 5, "the gantry off");
        machine.Run(0.5);
        var before = Gantry(machine).CountedPosition;
        foreach (var act in done.Split(", "))
        {
            switch (act)
            {
                case "close":
                    Open(machine, interlock, false);
                    machine.Run(0.5);
                    break;
                case "reset by command":
                    var answer = machine.Do(new ResetCommand([]));
                    Assert.Equal(interlock == Process ? Refusal.None : Refusal.InterlockResetElsewhere, answer.Refusal);
                    break;
                default:
                    machine.PressReset();
                    break;
            }
        }

        machine.Run(2);
        var status = machine.Control.Status();
        Assert.Equal(permitted, !status.Interlocks[interlock].NeedsReset && !status.Interlocks[interlock].Open);

        // Permitted or not: no torque, no motion, until somebody commands it (2006/42/EC annex I 1.2.4.3).
        Assert.Equal((AxisState.Disabled, false), (machine.State("gantry"), Gantry(machine).Plant.Powered));
        Assert.Equal(before, Gantry(machine).CountedPosition, 1.0);
        Assert.Equal(permitted ? Outcome.Done : Outcome.Refused, machine.Do(new EnableCommand(machine.Axes("gantry"))).Outcome);
    }

    [Theory]
    // 2006/42/EC annex I 1.2.4.3: available and operational at all times, whatever the mode
    [InlineData(MachineMode.Production)]
    [InlineData(MachineMode.Maintenance)]
    [InlineData(MachineMode.Manual)]
    public void EmergencyStop_InEveryMode_Stops(MachineMode mode)
    {
        var machine = Crossing(EmergencyStop, category: 1, mode);
        Open(machine, EmergencyStop, true);
        machine.RunUntil(() => machine.State("gantry") == AxisState.Disabled, 5, "the gantry off");
        Assert.Equal(0, Gantry(machine).Plant.VelocityCounts, 1.0);
    }

    [Theory]
    // No standard gives a number for the discrepancy time; that it latches is common practice. The file says 100 ms.
    //          first  second after (ms; 0: never)  closed after (ms)  latched  button resets
    [InlineData(1,     20,                          2000,              false,   true)] // both open: a sound stop
    [InlineData(2,     20,                          2000,              false,   true)] // either may be first
    [InlineData(1,     0,                           30,                false,   true)] // one opened shortly: a stop all the same, no fault yet
    [InlineData(1,     0,                           2000,              true,    false)] // one never follows
    [InlineData(2,     0,                           2000,              true,    false)]
    [InlineData(1,     400,                         2000,              true,    true)]  // one follows too late: told, and both were seen to open
    public void TwoChannels_OpenedLikeThat_AlwaysStopAndLatchWhenTheyDisagree(int first, int secondAfterMs, int closedAfterMs, bool latched, bool buttonResets)
    {
        var machine = Crossing(EmergencyStop, category: 1);
        machine.World.Drive("tray").SetInput($"input{first}", false);
        if (secondAfterMs > 0)
        {
            machine.Run(secondAfterMs / 1000.0);
            machine.World.Drive("tray").SetInput($"input{3 - first}", false);
        }

        // Until it was read once; then as long as the row says.
        machine.RunUntil(() => machine.Control.Status().Interlocks[EmergencyStop].Open, 1, "seen open");
        machine.Run(closedAfterMs / 1000.0);
        Open(machine, EmergencyStop, false);
        machine.RunUntil(() => machine.State("gantry") == AxisState.Disabled, 5, "the gantry off");
        machine.Run(0.5);
        Assert.Equal(latched ? 1 : 0, machine.Journal.Faults.Count(fault => fault.Code == FaultCode.ChannelDiscrepancy));

        // After a disagreement the button counts only once both were seen open together.
        machine.PressReset();
        Assert.Equal(!buttonResets, machine.Control.Status().Interlocks[EmergencyStop].NeedsReset);
        Open(machine, EmergencyStop, true);
        machine.Run(0.5);
        Open(machine, EmergencyStop, false);
        machine.Run(0.2);
        machine.PressReset();
        Assert.False(machine.Control.Status().Interlocks[EmergencyStop].NeedsReset);
    }

    private static Simulation.Drives.SimulatedDrive Gantry(SupervisedMachine machine) => machine.World.Drive("gantry");

    private static void Open(SupervisedMachine machine, int interlock, bool open)
    {
        foreach (var (axis, input) in interlock switch
        {
            EmergencyStop => [("tray", "input1"), ("tray", "input2")],
            Guard => [("gantry", "input1")],
            _ => new[] { ("drum", "input1") },
        })
        {
            machine.World.Drive(axis).SetInput(input, !open);
        }
    }

    /// <summary>The demo machine, one of its interlocks with another category, the gantry in the midst of a move.</summary>
    private static SupervisedMachine Crossing(int interlock, int category, MachineMode mode = MachineMode.Production)
    {
        var demo = SimulatedWorld.DemoMachine();
        var interlocks = demo.Interlocks.ToArray();
        interlocks[interlock] = interlocks[interlock] with { StopCategory = category, TripDelay = TimeSpan.Zero, Axes = interlocks[Guard].Axes };
        var machine = new SupervisedMachine(demo with { Interlocks = interlocks }, 61);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        if (mode != MachineMode.Production)
        {
            machine.Done(new ChooseModeCommand(mode));
        }

        machine.Done(new EnableCommand(machine.Axes("gantry")));
        machine.Done(machine.Move("gantry", 20));
        machine.Control.Submit(machine.Move("gantry", 780), machine.Grant);
        machine.RunUntil(() => machine.Axis("gantry").Position > 60, 10, "the gantry crosses");
        return machine;
    }
}
