using Supervisor.Configuration.Signals;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Signals;

/// <summary>Own alarms, counters, lights and horn on a simulated module of inputs and outputs, under the whole supervisor.</summary>
public sealed class SignalTests
{
    private const int Hopper = 3;
    private const int Sensor = 4;
    private const int Yellow = 0;
    private const int White = 1;
    private const int HornBit = 7;
    private const int HopperLow = 1000;
    private const int CleaningDue = 1001;

    [Fact]
    public void Input_ThatChatters_RaisesNothingUntilItLasts()
    {
        var machine = Start(1);
        var low = true;
        for (var i = 0; i < 40; i++)
        {
            Inputs(machine)[Hopper] = low = !low;
            machine.Run(0.3);
        }

        Assert.Empty(machine.Journal.Alarms);

        Inputs(machine)[Hopper] = false;
        machine.RunUntil(() => machine.Journal.Alarms.Count > 0, 1, "raised");
        Assert.Equal((HopperLow, AlarmChange.Raised, "hopper low"), (machine.Journal.Alarms[0].Key.Number, machine.Journal.Alarms[0].Change, machine.Journal.Alarms[0].Text));

        Inputs(machine)[Hopper] = true;
        machine.Run(0.6);
        Assert.Single(machine.Journal.Alarms);
        machine.RunUntil(() => machine.Journal.Alarms.Count > 1, 1, "cleared");
        Assert.Equal(AlarmChange.Cleared, machine.Journal.Alarms[1].Change);
    }

    [Fact]
    public void Source_Silent_RaisesWhereTheFileSaysSo()
    {
        var machine = Start(2);
        machine.World.Plant.Modules[0].IsUnplugged = true;
        machine.RunUntil(() => machine.Journal.Alarms.Exists(note => note is { Key.Number: HopperLow, Change: AlarmChange.Raised }), 3, "raised by silence");

        machine.World.Plant.Modules[0].IsUnplugged = false;
        machine.RunUntil(() => machine.Journal.Alarms.Exists(note => note is { Key.Number: HopperLow, Change: AlarmChange.Cleared }), 10, "heard again");
    }

    /// <summary>2 Hz is 4 edges a second, by the module's own outputs: 80 in 20 s.</summary>
    [Fact]
    public void Light_NewAlarm_FlashesOnTheModuleAtItsFrequency()
    {
        var machine = Start(3);
        Inputs(machine)[Hopper] = false;
        machine.RunUntil(() => machine.Control.Status().Lights[Yellow].Look == LightLook.Flashing, 3, "flashes");
        var (edges, before) = (0, Outputs(machine)[Yellow]);
        for (var i = 0; i < 4000; i++)
        {
            machine.Run(0.005);
            edges += Outputs(machine)[Yellow] != before ? 1 : 0;
            before = Outputs(machine)[Yellow];
        }

        Assert.InRange(edges, 78, 82);
        Assert.Empty(machine.Journal.Faults);
        Assert.Equal(SignalStates.NewMediumAlarm, machine.Control.Status().Lights[Yellow].Because);
    }

    [Fact]
    public void Horn_SilencedAndSoundingAgain()
    {
        var machine = Start(4);
        Inputs(machine)[Hopper] = false;
        machine.RunUntil(() => Outputs(machine)[HornBit], 3, "sounds");
        Assert.Equal(Outcome.Done, machine.Do(new SilenceHornCommand("night watch")).Outcome);
        machine.RunUntil(() => !Outputs(machine)[HornBit], 1, "silent");
        machine.Run(20);
        Assert.False(Outputs(machine)[HornBit]);

        Inputs(machine)[Hopper] = true;
        machine.Run(3);
        Assert.False(Outputs(machine)[HornBit]);
        Inputs(machine)[Hopper] = false;
        machine.RunUntil(() => Outputs(machine)[HornBit], 3, "sounds again");
        machine.Run(29);
        Assert.True(Outputs(machine)[HornBit]);
        machine.RunUntil(() => !Outputs(machine)[HornBit], 2, "its time is over");
    }

    [Fact]
    public void TestLamps_LightsAllOnTheModule()
    {
        var machine = Start(5);
        Assert.Equal([false, true, false], Lamps(machine));
        Assert.Equal(Outcome.Done, machine.Do(new TestLampsCommand(Horn: true)).Outcome);
        machine.RunUntil(() => Lamps(machine).All(on => on), 1, "all on");
        machine.Run(4);
        Assert.Equal([true, true, true], Lamps(machine));
        machine.RunUntil(() => Lamps(machine) is [false, true, false], 2, "as before");
    }

    [Fact]
    public void Counter_OverARestart_GoesOnAndRaisesItsAlarm()
    {
        var machine = Start(6);
        Pulse(machine, 4);
        Assert.Equal(4, machine.Control.Count(0));

        machine.Restart(2);
        machine.RunUntil(() => machine.World.Board.Modules[0].Read().Online, 5, "met again");
        machine.Run(0.5);
        Assert.Equal(4, machine.Control.Count(0));
        Pulse(machine, 1);
        Assert.DoesNotContain(machine.Journal.Alarms, note => note.Key.Number == CleaningDue);
        Pulse(machine, 1);
        Assert.Contains(machine.Journal.Alarms, note => note is { Key.Number: CleaningDue, Change: AlarmChange.Raised });

        Assert.Equal(Outcome.Done, machine.Do(new ResetCounterCommand(0, "keeper")).Outcome);
        machine.Run(0.1);
        Assert.Equal(0, machine.Control.Count(0));
        Assert.Contains(machine.Journal.Alarms, note => note is { Key.Number: CleaningDue, Change: AlarmChange.Cleared });
    }

    [Fact]
    public void End_LightsAreAsTheFileWants()
    {
        var machine = Start(7);
        machine.Coordinator.BeginShutDown(machine.World.Queue.Now);
        machine.RunUntil(() => machine.Coordinator.ShutDown.IsStopped, 10, "ended");
        Assert.Equal([false, false, false], Lamps(machine));
    }

    private static void Pulse(SupervisedMachine machine, int times)
    {
        for (var i = 0; i < times; i++)
        {
            Inputs(machine)[Sensor] = false;
            machine.Run(0.3);
            Inputs(machine)[Sensor] = true;
            machine.Run(0.3);
        }
    }

    private static SupervisedMachine Start(ulong seed)
    {
        var machine = new SupervisedMachine(
            Machines.Read($$"""
                { "machine": { "name": "Carrier" },
                  "ports": [ { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 } ],
                  "axes": [ { "name": "left", "port": "line-a", "address": 1, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 1000 },
                              "limits": { "velocity": 400, "acceleration": 8000, "deceleration": 8000 }, "reference": "none" } ],
                  "modules": [ { "name": "io", "port": "line-a", "address": 20, "inputs": { "function": 2, "start": 0, "bits": 8 }, "outputs": { "function": 15, "start": 0, "bits": 8 },
                                 "communicationTimeout": { "register": 4096, "timeoutMs": 500 } } ],
                  "counters": [ { "name": "trays", "input": { "input": "module:io/{{Sensor}}", "counts": "closings" } } ],
                  "alarms": [
                    { "number": {{HopperLow}}, "name": "hopper low", "priority": "medium", "cause": "c", "remedy": "r",
                      "input": { "input": "module:io/{{Hopper}}", "raisedWhile": "open", "onDelayMs": 500, "offDelayMs": 700, "whenSilent": "raise" } },
                    { "number": {{CleaningDue}}, "name": "cleaning due", "priority": "low", "cause": "c", "remedy": "r", "counter": { "name": "trays", "atLeast": 6 } } ],
                  "signals": {
                    "lights": [
                      { "name": "trouble", "output": "module:io/{{Yellow}}", "colour": "yellow", "text": "t", "flashingWhile": ["newMediumAlarm"], "atLoss": "off" },
                      { "name": "power", "output": "module:io/{{White}}", "colour": "white", "text": "t", "steadyWhile": ["always"], "atLoss": "off" } ],
                    "horn": { "output": "module:io/{{HornBit}}", "soundsFrom": "medium", "longestMs": 30000, "atLoss": "off" } } }
                """),
            seed);
        Inputs(machine).Fill(true);
        machine.RunUntil(() => machine.World.Board.Modules[0].Read() is { Online: true, OutputsReady: true }, 5, "module met");
        machine.RunUntil(() => Outputs(machine)[White], 2, "lights lit");
        Assert.Empty(machine.Journal.Alarms);
        return machine;
    }

    private static Span<bool> Inputs(SupervisedMachine machine) => machine.World.Plant.Modules[0].Inputs;

    private static ReadOnlySpan<bool> Outputs(SupervisedMachine machine) => machine.World.Plant.Modules[0].Outputs;

    private static bool[] Lamps(SupervisedMachine machine) => [Outputs(machine)[Yellow], Outputs(machine)[White], Outputs(machine)[HornBit]];
}
