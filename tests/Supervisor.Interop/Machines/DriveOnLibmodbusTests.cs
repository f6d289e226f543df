using System.Runtime.Versioning;
using Supervisor.Interop.Peers;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Interop.Machines;

/// <summary>The whole supervisor below the API moves an axis whose drive is a C program on libmodbus, coded in four ways.</summary>
[SupportedOSPlatform("linux")]
public sealed class DriveOnLibmodbusTests(DriveSlaveProgram program)
{
    /// <summary>The kinds of <see cref="DriveSlaveProgram"/>.</summary>
    public static TheoryData<string> Kinds => [DriveSlaveProgram.Cia402, DriveSlaveProgram.Bits, DriveSlaveProgram.Single, DriveSlaveProgram.Awkward];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Commands_HomeAndMoveBothWays_AreDoneWhereTheySay(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            Assert.Equal(Refusal.NotReferenced, bench.Machine.Run(new EnableCommand([0])).Refusal);

            bench.Home();
            bench.Move(120);
            bench.Move(-80);
            bench.Machine.Do(new MoveCommand([new MoveTarget(0, 30, Relative: true)], 100));
            Assert.InRange(bench.Axis.Position, -50.5, -49.5);
            bench.AssertTrulyAt(-50);
            bench.Machine.Do(new DisableCommand([0]));

            Assert.Equal(AxisState.Disabled, bench.Axis.State);
            Assert.Empty(bench.Machine.Journal.Faults);
        });
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Stop_InAMove_RestsWhereItIsAndMovesOnByCommand(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();
            var move = bench.BeginLongMove();

            bench.Machine.Do(new StopCommand([0]));

            Assert.Equal((Outcome.Replaced, Refusal.Stopped), (bench.Machine.End(move).Outcome, bench.Machine.End(move).Refusal));
            Assert.Equal(AxisState.Ready, bench.Axis.State);
            Assert.InRange(bench.Axis.Position, 1, 800);
            bench.Machine.Do(new ReleaseCommand([0]));
            bench.Move(0);
            Assert.Empty(bench.Machine.Journal.Faults);
        });
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Move_BeyondALimit_IsRefusedAndNothingMoves(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();

            var answer = bench.Machine.Run(DriveBench.MoveTo(1001));

            Assert.Equal((Outcome.Refused, Refusal.PositionLimit), (answer.Outcome, answer.Refusal));
            Assert.Contains("1000", answer.Message, StringComparison.Ordinal);
            Assert.InRange(bench.Axis.Position, -1, 1);
        });
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Guard_OpensInAMove_StopsInOrderAndWaitsForItsButton(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();
            var move = bench.BeginLongMove();

            bench.SetInput(1, closed: false);

            // Stop category 1 (IEC 60204-1, 9.2.2): a controlled stop, then removal of power.
            bench.WaitFor("torque to be off", () => bench.Axis.State == AxisState.Disabled);
            Assert.Equal((Outcome.Replaced, Refusal.InterlockTripped), (bench.Machine.End(move).Outcome, bench.Machine.End(move).Refusal));
            var refused = bench.Machine.Run(new EnableCommand([0]));
            Assert.Equal(Refusal.InterlockOpen, refused.Refusal);
            Assert.Contains("guard", refused.Message, StringComparison.Ordinal);

            // Closing it permits nothing yet, and no command from afar resets a guard.
            bench.SetInput(1, closed: true);
            Assert.Equal(Refusal.InterlockResetElsewhere, bench.Machine.Run(new ResetCommand([])).Refusal);
            bench.PressReset();

            // Nor does the reset start anything (Directive 2006/42/EC, annex I, 1.2.4.3).
            Assert.Equal(AxisState.Disabled, bench.Axis.State);
            Assert.InRange(bench.Axis.Position, 1, 800);
            bench.Machine.Do(new EnableCommand([0]));
            bench.Move(10);
            Assert.Empty(bench.Machine.Journal.Faults);
        });
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void ProcessInterlock_OpensInAMove_StopsWithPowerKeptAndIsResetByCommand(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();
            var move = bench.BeginLongMove();

            bench.SetInput(2, closed: false);

            // Stop category 2 (IEC 60204-1, 9.2.2): power is kept.
            Assert.Equal(Refusal.InterlockTripped, bench.Machine.End(move).Refusal);
            bench.WaitFor("the axis to rest", () => bench.Axis.State == AxisState.Ready);
            Assert.Equal(["vacuum"], bench.Axis.InhibitedBy);
            Assert.Equal(Refusal.InterlockOpen, bench.Machine.Run(DriveBench.MoveTo(0)).Refusal);

            bench.SetInput(2, closed: true);
            Assert.Equal(Refusal.InterlockNeedsReset, bench.Machine.Run(DriveBench.MoveTo(0)).Refusal);
            bench.Machine.Do(new ResetCommand([]));
            bench.Move(0);
            Assert.Empty(bench.Machine.Journal.Faults);
        });
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Fault_AtTheDriveInAMove_IsLatchedAndResetOnceItsCauseIsGone(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();
            var move = bench.BeginLongMove();

            // 2310h: continuous over-current (CiA 402, object 603Fh; from a secondary text).
            bench.Drive.Say("fault 0x2310");

            Assert.Equal((Outcome.Failed, FaultCode.OverCurrent), (bench.Machine.End(move).Outcome, bench.Machine.End(move).Fault));
            bench.WaitFor("torque to be off", () => bench.Axis is { State: AxisState.Faulted, Detail: AxisDetail.None });
            Assert.Equal((FaultCode.OverCurrent, kind == DriveSlaveProgram.Awkward ? 17 : 0x2310), (bench.Axis.Fault, bench.Axis.DriveCode));
            Assert.Equal(Refusal.AxisFaulted, bench.Machine.Run(DriveBench.MoveTo(0)).Refusal);
            Assert.NotEqual(Outcome.Done, bench.Machine.Run(new ResetCommand([0])).Outcome);
            Assert.Equal(AxisState.Faulted, bench.Axis.State);

            bench.Drive.Say("fault 0");
            bench.WaitFor("the reset to be taken", () => bench.Machine.Run(new ResetCommand([0])).Outcome == Outcome.Done);
            Assert.Equal((AxisState.Disabled, FaultCode.None), (bench.Axis.State, bench.Axis.Fault));
            bench.Machine.Do(new EnableCommand([0]));
            bench.Move(0);
            Assert.Equal([FaultCode.OverCurrent], bench.Machine.Journal.Faults);
        });
    }
}
