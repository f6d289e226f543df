using System.Runtime.Versioning;
using Supervisor.Interop.Peers;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Interop.Machines;

/// <summary>A C drive that falls silent in a move, for a while or because its process ended.</summary>
[SupportedOSPlatform("linux")]
public sealed class LostDriveTests(DriveSlaveProgram program)
{
    private const int TimeoutMs = 4000;

    [Theory]
    [MemberData(nameof(DriveOnLibmodbusTests.Kinds), MemberType = typeof(DriveOnLibmodbusTests))]
    public void Drive_FallsSilentInAMove_StopsByItselfAndIsMetAgain(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();
            var move = bench.BeginLongMove();

            bench.Drive.Say("mute 1");
            Assert.Equal((Outcome.Failed, FaultCode.LinkLost), (bench.Machine.End(move).Outcome, bench.Machine.End(move).Fault));
            bench.WaitFor("the axis to be lost", () => !bench.Axis.Online);
            Assert.Equal((AxisState.Faulted, FaultCode.LinkLost), (bench.Axis.State, bench.Axis.Fault));
            Assert.Equal(Refusal.AxisOffline, bench.Machine.Run(new ResetCommand([0])).Refusal);

            // The time-out that the supervisor has set at first contact.
            bench.WaitFor("the drive to stop by itself", () => bench.Drive.Output.Contains("stopped by silence", StringComparison.Ordinal));
            bench.Drive.Say("mute 0");

            bench.WaitFor("the drive to be met again", () => bench.Axis.Online);
            Assert.Equal((AxisState.Faulted, FaultCode.LinkLost), (bench.Axis.State, bench.Axis.Fault));
            BringBack(bench);

            // The reference survives by serial number, uptime and the drive's own homed flag, which one of the three does not tell.
            Assert.Equal(kind != DriveSlaveProgram.Single, bench.Axis.Referenced);
            if (bench.Axis.Referenced)
            {
                Assert.InRange(bench.Axis.Position, 1, 800);
                bench.Machine.Do(new EnableCommand([0]));
            }
            else
            {
                bench.Home();
            }

            bench.Move(5);
        }, TimeoutMs);
    }

    [Theory]
    [MemberData(nameof(DriveOnLibmodbusTests.Kinds), MemberType = typeof(DriveOnLibmodbusTests))]
    public void Drive_EndsInAMoveAndStartsAnew_IsMetAnewAndHomedAgain(string kind)
    {
        DriveBench.Try(program, kind, bench =>
        {
            bench.Home();
            bench.Move(20);
            var move = bench.BeginLongMove();

            bench.KillDrive();
            Assert.Equal(FaultCode.LinkLost, bench.Machine.End(move).Fault);
            bench.WaitFor("the axis to be lost", () => !bench.Axis.Online);
            bench.RestartDrive();

            bench.WaitFor("the drive to be met anew", () => bench.Axis.Online);
            Assert.Equal(AxisState.Faulted, bench.Axis.State);
            Assert.False(bench.Axis.Referenced);
            // Its button reads as pressed when it wakes up; the guard opened with the silence.
            bench.PressReset();
            BringBack(bench);
            Assert.Equal(Refusal.NotReferenced, bench.Machine.Run(new EnableCommand([0])).Refusal);
            bench.Home();
            bench.Move(-20);
        }, TimeoutMs);
    }

    [Fact]
    public void Drive_FedByWritesOnlyAndNothingCommanded_IsKeptFed()
    {
        DriveBench.Try(program, DriveSlaveProgram.Single, bench =>
        {
            bench.Home();

            // Longer than its time-out: without writes its own watch would take the torque away.
            Assert.False(bench.Machine.ComesWithin(bench.CommunicationTimeout * 1.6, () => bench.Axis.State != AxisState.Ready));
            Assert.DoesNotContain("stopped by silence", bench.Drive.Output, StringComparison.Ordinal);
            bench.Move(50);
            Assert.Empty(bench.Machine.Journal.Faults);
        }, TimeoutMs);
    }

    private static void BringBack(DriveBench bench)
    {
        bench.WaitFor("the fault to be reset", () => bench.Machine.Run(new ResetCommand([0])).Outcome == Outcome.Done);
        if (bench.Machine.Interlock("guard").NeedsReset)
        {
            bench.PressReset();
        }

        if (bench.Machine.Interlock("vacuum").NeedsReset)
        {
            bench.Machine.Do(new ResetCommand([]));
        }

        Assert.Equal((AxisState.Disabled, FaultCode.None), (bench.Axis.State, bench.Axis.Fault));
    }
}
