using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Outputs;

/// <summary>
/// The power-enable with a contactor whose mirror contact is closed while it is open (normally closed, linked to the main contacts: IEC 60947-4-1
/// annex F, value from memory; the rule to read it back before and after: common practice).
/// </summary>
public sealed class PowerEnableTests
{
    private static readonly TimeSpan PullIn = TimeSpan.FromMilliseconds(40);
    private readonly OutputRig _rig;
    private readonly InputReference _mirror = new("gpio:soc/mirror", InputSource.Gpio, -1, null, null) { Gpio = new GpioReference("soc", "mirror") };
    private TimeSpan? _coilSince;
    private bool _coil;
    private bool _closed;

    public PowerEnableTests()
    {
        var power = new PowerEnableDefinition(OutputRig.Gpio("power"), _mirror, TimeSpan.FromMilliseconds(200), TimeSpan.FromMilliseconds(200), [Tray, Gantry, Dibber]);
        _rig = new OutputRig(Seeder() with { PowerEnable = power }, isReady: false);
        _rig.Before = Contactor;
        _rig.Run(100);
    }

    /// <summary>A main contact is welded: it stays closed whatever the coil does.</summary>
    private bool IsWelded { get; set; }

    /// <summary>The coil has no supply.</summary>
    private bool IsCoilDead { get; set; }

    /// <summary>The mirror contact is not read any more.</summary>
    private bool IsMirrorSilent { get; set; }

    private PowerStatus Shown => _rig.Rig.Control.Status().PowerEnable!;

    [Fact]
    public void Start_NothingCommanded_IsOffAndAxesBehindItAreRefused()
    {
        Assert.Equal((PowerState.Off, FaultCode.None), (Shown.State, Shown.Fault));
        Assert.Equal(["tray", "gantry", "dibber"], Shown.Axes);
        MachineRig.AssertRefused(_rig.Do(new EnableCommand([Tray])), Refusal.PowerOff, "tray", "power is off", "power on");
        MachineRig.AssertRefused(_rig.Do(new HomeCommand([Dibber])), Refusal.PowerOff, "dibber");
        Assert.Equal(Outcome.Done, _rig.Do(new EnableCommand([Drum])).Outcome);
        Assert.DoesNotContain(true, _rig.Places[0].Given);
    }

    /// <summary>The daemon was lost and is back before the drives' own stops are over: taking the power would take their braking.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Start_PowerOnAndAnAxisWithTorque_KeepsItUntilTheAxisIsOff(bool goesOff)
    {
        var machine = _rig.Rig.Board.Machine;
        var board = new Runtime.MachineBoard(machine);
        var coordinator = new Coordinator(board, new FakeJournal());
        var port = new FakePort(board, 0);
        var other = new FakePort(board, 1);
        var place = new OutputRig.Place(board.Outputs.Cells[0]) { On = true };
        (port[Tray].Now.State, port[Tray].Now.TorqueOn, port[Tray].ObeysStops) = (AxisState.Moving, true, false);
        var now = TimeSpan.FromSeconds(1);
        void Run(double ms)
        {
            for (var end = now + TimeSpan.FromMilliseconds(ms); now < end; now += MachineRig.Period)
            {
                port.Step(now);
                other.Step(now);
                place.Step(now);
                coordinator.Step(now);
            }
        }

        Run(1500);
        Assert.True(place.On);
        Assert.Empty(place.Given);
        Assert.Equal(PowerState.SwitchingOff, coordinator.Control.Status().PowerEnable!.State);
        if (goesOff)
        {
            (port[Tray].Now.State, port[Tray].Now.TorqueOn) = (AxisState.Disabled, false);
            Run(50);
        }
        else
        {
            Run(1600);
        }

        Assert.False(place.On);
    }

    [Fact]
    public void SwitchOn_ContactorOpen_IsOnceItIsProvenClosed()
    {
        var answer = _rig.Do(new SwitchPowerCommand(true));

        Assert.Equal((Outcome.Done, "the drives' power is on"), (answer.Outcome, answer.Message));
        Assert.True(_closed);
        Assert.Equal(Outcome.Done, _rig.Do(new EnableCommand([Tray])).Outcome);
        Assert.Equal(Outcome.Done, _rig.Do(new SwitchPowerCommand(true)).Outcome);
    }

    [Fact]
    public void SwitchOn_WithoutAuthority_IsRefused()
    {
        var ticket = _rig.Rig.Control.Submit(new SwitchPowerCommand(true), null);
        _rig.Step(3);

        Assert.Equal(Refusal.AuthorityHeldByAnother, MachineRig.Answer(ticket).Refusal);
        Assert.False(_rig.Places[0].On);
    }

    [Fact]
    public void SwitchOff_AxisWithTorque_IsRefusedAndNamesIt()
    {
        On();
        _rig.Do(new EnableCommand([Tray]));
        MachineRig.AssertRefused(_rig.Do(new SwitchPowerCommand(false)), Refusal.AxisBusy, "tray", "disable it first");
        Assert.True(_closed);

        _rig.Do(new DisableCommand([Tray]));

        Assert.Equal((Outcome.Done, "the drives' power is off"), (_rig.Do(new SwitchPowerCommand(false)) is var off ? (off.Outcome, off.Message) : default));
        Assert.False(_closed);
    }

    [Fact]
    public void SwitchOn_MirrorContactOpen_IsAWeldedContactorAndNeverSwitched()
    {
        (IsWelded, _closed) = (true, true);
        _rig.Step(2);

        MachineRig.AssertRefused(_rig.Do(new SwitchPowerCommand(true)), Refusal.PowerFaulted, "contactor welded");

        Assert.DoesNotContain(true, _rig.Places[0].Given);
        Assert.Equal([FaultCode.ContactorWelded], Told());
    }

    [Fact]
    public void Off_ContactorClosesByAnother_IsWelded()
    {
        (IsWelded, _closed) = (true, true);
        _rig.Run(150);
        Assert.Equal(PowerState.Off, Shown.State);
        _rig.Run(100);

        Assert.Equal((PowerState.Faulted, FaultCode.ContactorWelded), (Shown.State, Shown.Fault));
    }

    [Fact]
    public void SwitchOn_MirrorContactSilent_IsRefused()
    {
        IsMirrorSilent = true;
        _rig.Run(400);

        MachineRig.AssertRefused(_rig.Do(new SwitchPowerCommand(true)), Refusal.PowerUnproven, "gpio:soc/mirror");
        Assert.DoesNotContain(true, _rig.Places[0].Given);
        Assert.Equal("See that the mirror contact gpio:soc/mirror is read.", Shown.WhatToDo);
    }

    [Fact]
    public void SwitchOn_ContactorDoesNotClose_LatchesUntilAPersonResets()
    {
        IsCoilDead = true;

        var answer = _rig.Do(new SwitchPowerCommand(true));

        Assert.Equal((Outcome.Failed, FaultCode.ContactorMissing), (answer.Outcome, answer.Fault));
        _rig.Step(3);
        Assert.False(_rig.Places[0].On);
        IsCoilDead = false;
        MachineRig.AssertRefused(_rig.Do(new SwitchPowerCommand(true)), Refusal.PowerFaulted, "contactor not proven", "reset");
        MachineRig.AssertRefused(_rig.Do(new EnableCommand([Tray])), Refusal.PowerFaulted, "tray");

        Assert.Equal(Outcome.Done, _rig.Do(new ResetCommand([])).Outcome);

        Assert.Equal((PowerState.Off, FaultCode.None), (Shown.State, Shown.Fault));
        Assert.False(_closed);
        Assert.Equal(Outcome.Done, _rig.Do(new SwitchPowerCommand(true)).Outcome);
    }

    [Fact]
    public void SwitchOff_ContactorStaysClosed_LatchesAndIsNotResetWhileItIs()
    {
        On();
        IsWelded = true;

        var answer = _rig.Do(new SwitchPowerCommand(false));

        Assert.Equal((Outcome.Failed, FaultCode.ContactorWelded), (answer.Outcome, answer.Fault));
        MachineRig.AssertRefused(_rig.Do(new ResetCommand([])), Refusal.CauseStillPresent, "gpio:soc/mirror", "is open");
        IsWelded = false;
        _rig.Run(100);
        Assert.Equal(Outcome.Done, _rig.Do(new ResetCommand([])).Outcome);
        Assert.Equal(PowerState.Off, Shown.State);
    }

    /// <summary>By whoever sees it, before the coordinator steps: its place switches off with the next look.</summary>
    [Fact]
    public void StopFailed_OfAnAxisBehindIt_DropsThePowerAndLatches()
    {
        On();
        _rig.Do(new EnableCommand([Tray, Gantry]));

        _rig.Rig.Board.Outputs.StopFailed(Gantry);
        _rig.Places[0].Step(_rig.Rig.Now);

        Assert.False(_rig.Places[0].On);
        _rig.Run(300);
        Assert.Equal((PowerState.Faulted, FaultCode.PowerDropped), (Shown.State, Shown.Fault));
        Assert.Equal([FaultCode.PowerDropped], Told());
        Assert.False(_closed);
        MachineRig.AssertRefused(_rig.Do(new SwitchPowerCommand(true)), Refusal.PowerFaulted, "power dropped", "emergency stop");
        Assert.Equal(Outcome.Done, _rig.Do(new ResetCommand([])).Outcome);
        On();
    }

    [Fact]
    public void StopFailed_OfAnAxisThatIsNotBehindIt_LeavesIt()
    {
        On();
        _rig.Rig.Board.Outputs.StopFailed(Drum);
        _rig.Run(300);

        Assert.Equal(PowerState.On, Shown.State);
        Assert.True(_closed);
    }

    [Fact]
    public void ResetOfOneAxis_PowerFaulted_DoesNotResetThePower()
    {
        On();
        _rig.Rig.PortOf(Gantry).Fault(Gantry, FaultCode.StopFailed);
        _rig.Rig.Board.Outputs.StopFailed(Gantry);
        _rig.Run(300);

        Assert.Equal(Outcome.Done, _rig.Do(new ResetCommand([Gantry])).Outcome);

        Assert.Equal(PowerState.Faulted, Shown.State);
    }

    [Fact]
    public void Fell_WithoutAnyInterlock_StopsTheAxesAndLatches()
    {
        On();
        _rig.Do(new EnableCommand([Tray]));
        IsCoilDead = true;
        _rig.Run(300);

        Assert.Equal((PowerState.Faulted, FaultCode.ContactorFell), (Shown.State, Shown.Fault));
        Assert.True(_rig.Rig.Board.Latch.IsLocked(Tray));
        Assert.False(_rig.Rig.Board.Latch.IsLocked(Drum));
        Assert.False(_rig.Places[0].On);
        Assert.Contains("the power-enable", _rig.Do(new MoveCommand([new MoveTarget(Tray, 100, false)], null)).Message, StringComparison.Ordinal);
    }

    /// <summary>The emergency stop's own circuit opens the contactor: its consequence, no fault; the input may be seen later than the mirror contact.</summary>
    [Fact]
    public void Fell_ByTheEmergencyStop_IsOffWithoutAFault()
    {
        On();
        IsCoilDead = true;
        _rig.Run(100);
        _rig.Rig.Set("tray.input1", false);
        _rig.Rig.Set("tray.input2", false);
        _rig.Run(300);

        Assert.Equal((PowerState.Off, FaultCode.None), (Shown.State, Shown.Fault));
        Assert.Empty(Told());
        MachineRig.AssertRefused(_rig.Do(new SwitchPowerCommand(true)), Refusal.InterlockOpen, "emergency stop");

        // Closed and reset, the power does not come back by itself.
        IsCoilDead = false;
        _rig.Rig.Set("tray.input1", true);
        _rig.Rig.Set("tray.input2", true);
        _rig.Run(50);
        _rig.Rig.Set("tray.input3", true);
        _rig.Run(150);
        _rig.Rig.Set("tray.input3", false);
        _rig.Run(200);
        Assert.False(_closed);
        On();
    }

    [Fact]
    public void SwitchOn_GuardThatHoldsTheContactor_IsNoFault()
    {
        IsCoilDead = true;
        _rig.Rig.SetAndSee("gantry.input1", false);

        var answer = _rig.Do(new SwitchPowerCommand(true));

        Assert.Equal((Outcome.Replaced, Refusal.PowerOff), (answer.Outcome, answer.Refusal));
        Assert.Contains("guard", answer.Message, StringComparison.Ordinal);
        _rig.Run(300);
        Assert.Equal(PowerState.Off, Shown.State);
    }

    [Fact]
    public void MirrorContactSilentWhileOn_StopsTheAxesAndDropsOnceNoneHasTorque()
    {
        On();
        _rig.Do(new EnableCommand([Tray]));
        IsMirrorSilent = true;
        _rig.Run(400);

        Assert.Equal((PowerState.Faulted, FaultCode.ContactorMissing), (Shown.State, Shown.Fault));
        Assert.True(_closed);
        Assert.True(_rig.Rig.Board.Latch.IsLocked(Tray));
        MachineRig.AssertRefused(_rig.Do(new EnableCommand([Gantry])), Refusal.PowerFaulted);

        _rig.Do(new DisableCommand([Tray]));
        _rig.Run(100);

        Assert.False(_closed);
        MachineRig.AssertRefused(_rig.Do(new ResetCommand([])), Refusal.CauseStillPresent, "does not answer");
        IsMirrorSilent = false;
        _rig.Run(50);
        Assert.Equal(Outcome.Done, _rig.Do(new ResetCommand([])).Outcome);
    }

    [Fact]
    public void PlaceLostWhileOn_FoundOff_IsNotSwitchedOnAgain()
    {
        On();
        _rig.Places[0].IsGone = true;
        _rig.Run(100);
        _rig.Places[0].On = false;
        _rig.Places[0].Given.Clear();
        _rig.Places[0].IsGone = false;
        _rig.Run(400);

        Assert.DoesNotContain(true, _rig.Places[0].Given);
        Assert.Equal(FaultCode.ContactorFell, Shown.Fault);
    }

    [Fact]
    public void ShutDown_AxesStopped_IsOff()
    {
        On();
        _rig.Do(new EnableCommand([Tray]));

        _rig.Rig.Coordinator.BeginShutDown(_rig.Rig.Now);
        _rig.Run(100);

        Assert.True(_rig.Rig.Coordinator.ShutDown.IsStopped);
        Assert.False(_rig.Places[0].On);
    }

    [Fact]
    public void Set_ByHand_IsRefused()
    {
        MachineRig.AssertRefused(_rig.Do(new SetOutputCommand(-1, "gpio:soc/power", true)), Refusal.OutputNotByHand, "power on");
        Assert.DoesNotContain(true, _rig.Places[0].Given);
    }

    [Fact]
    public void SwitchPower_MachineWithoutOne_IsRefused()
    {
        var rig = MachineRig.Ready();

        MachineRig.AssertRefused(rig.Do(new SwitchPowerCommand(true)), Refusal.NoPowerEnable, "powerEnable");
        Assert.Null(rig.Control.Status().PowerEnable);
    }

    private void On() => Assert.Equal(Outcome.Done, _rig.Do(new SwitchPowerCommand(true)).Outcome);

    private FaultCode[] Told() => [.. _rig.Rig.Journal.Faults.Where(fault => fault.Output == 0).Select(fault => fault.Code)];

    private void Contactor()
    {
        var coil = _rig.Places[0].On && !IsCoilDead;
        if (coil != _coil)
        {
            (_coil, _coilSince) = (coil, _rig.Rig.Now);
        }

        if (_coilSince is { } since && _rig.Rig.Now - since >= PullIn)
        {
            _closed = _coil || (_closed && IsWelded);
        }

        if (!IsMirrorSilent)
        {
            _rig.Rig.Board.Inputs.Write(_rig.Rig.Board.Inputs.IndexOf(_mirror), !_closed, _rig.Rig.Now);
        }
    }
}
