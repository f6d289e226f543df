using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Parameters;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Parameters;

/// <summary>Whole sets read out of and loaded into a drive: without torque, in the time the cycle leaves, each value read back, and nothing left half done unsaid.</summary>
public sealed class ParameterJobTests
{
    private const string Fixed = """{ "gain": { "value": 12, "onDifference": "refuse" }, "loop": { "value": 80, "onDifference": "refuse" } }""";
    private const int FilterRegister = 152;

    [Fact]
    public void ReplacedDrive_LoadedWithItsAxisSet_IsBackAfterResetAndHoming()
    {
        var machine = Ready(1);
        Exchange(machine, 4712);
        Assert.Equal(FaultCode.WrongIdentity, machine.Axis("slide").Fault);
        Assert.Equal(Refusal.ParametersDiffer, machine.Do(new ResetCommand(machine.Axes("slide"))).Refusal);

        var job = Load(machine, ("gain", 120), ("loop", 80), ("filter", unchecked((uint)-5)));
        Assert.Equal(ParameterJobState.Done, job.State);
        Assert.Equal([ParameterOutcome.Written, ParameterOutcome.Written, ParameterOutcome.Written], Outcomes(job));
        Assert.Equal(ParameterOutcome.WrittenUnread, job.Save);
        machine.Run(3);
        machine.Done(new ResetCommand(machine.Axes("slide")));
        Assert.False(machine.Axis("slide").Referenced);
        machine.Done(new HomeCommand(machine.Axes("slide")));
        Assert.Equal(AxisState.Ready, machine.State("slide"));

        // Stored once and saved once; both survive a loss of supply.
        Assert.Equal(2, machine.World.Drive("slide").MemoryWrites);
        machine.World.Drive("slide").Restart();
        machine.Run(5);
        Assert.Equal((120, 80, -5), (machine.World.Drive("slide").Register("gain"), machine.World.Drive("slide").Register("loop"), machine.World.Drive("slide").Register("filter")));
        Assert.NotEqual(FaultCode.ParameterDiffers, machine.Axis("slide").Fault);
    }

    [Fact]
    public void Load_OfWhatTheDriveHas_WritesNothingAndKeepsTheReference()
    {
        var machine = Ready(2);
        machine.Done(new HomeCommand(machine.Axes("slide")));
        machine.Done(new DisableCommand(machine.Axes("slide")));
        var job = Load(machine, ("gain", 120), ("loop", 80));

        Assert.Equal([ParameterOutcome.AsWanted, ParameterOutcome.AsWanted], Outcomes(job));
        Assert.Equal(0, machine.World.Drive("slide").MemoryWrites);
        machine.Run(1);
        Assert.True(machine.Axis("slide").Referenced);
        Assert.Equal(AxisState.Disabled, machine.State("slide"));
    }

    [Fact]
    public void Load_ThatWrote_LosesTheReferenceAndRefusesMotionMeanwhile()
    {
        var machine = Ready(3);
        machine.Done(new HomeCommand(machine.Axes("slide")));
        machine.Done(new DisableCommand(machine.Axes("slide")));
        var job = Post(machine, true, ("filter", 7));
        machine.RunUntil(() => job.State == ParameterJobState.Taken, 2, "taken");
        Assert.Equal(Refusal.ParametersInUse, machine.Do(new HomeCommand(machine.Axes("slide"))).Refusal);

        // It saves, and is silent for longer than a drive may be; that is no lost link.
        machine.RunUntil(() => job.HasEnded, 10, "ended");
        machine.Run(2);
        Assert.Equal(ParameterOutcome.WrittenUnread, job.Save);
        Assert.Equal(FaultCode.None, machine.Axis("slide").Fault);
        Assert.False(machine.Axis("slide").Referenced);
        machine.Done(new ChooseModeCommand(MachineMode.Production));
        Assert.Equal(Refusal.NotReferenced, machine.Do(new EnableCommand(machine.Axes("slide"))).Refusal);
    }

    [Fact]
    public void Load_WhoseDriveIsLost_SaysWhatWasWrittenAndKeepsTheAxisOutOfUse()
    {
        var machine = Ready(4);
        machine.World.Ports[0].Interfere = frame => frame.Writes().Any(write => write.Address == FilterRegister) ? Unplug(machine) : Interference.None;
        var job = Load(machine, ("loop", 81), ("filter", 7), ("gain", 121));
        Assert.Equal(ParameterJobState.Broken, job.State);
        Assert.Equal([ParameterOutcome.Written, ParameterOutcome.Unknown, ParameterOutcome.Pending], Outcomes(job));

        machine.World.Ports[0].Interfere = null;
        machine.World.Ports[0].IsUnplugged = false;
        machine.Run(5);
        Assert.Equal(FaultCode.ParametersIncomplete, machine.Axis("slide").Fault);
        var refused = machine.Do(new ResetCommand(machine.Axes("slide")));
        Assert.Equal(Refusal.ParametersDiffer, refused.Refusal);
        machine.Run(2);

        Load(machine, ("loop", 80), ("filter", 7), ("gain", 120));
        machine.Run(3);
        machine.Done(new ResetCommand(machine.Axes("slide")));
        Assert.Equal(AxisState.Disabled, machine.State("slide"));
    }

    [Fact]
    public void SetThatAnEarlierRunBeganToLoad_HoldsTheAxisUntilItIsLoadedAndSaved()
    {
        var machine = Ready(12, new UnfinishedSet(Entries(Definition, [("gain", 120), ("loop", 80), ("filter", 0)]), Saves: true));
        Assert.Equal(FaultCode.ParametersIncomplete, machine.Axis("slide").Fault);
        Assert.Single(machine.Journal.Faults, fault => fault.Code == FaultCode.ParametersIncomplete);
        var refused = machine.Do(new ResetCommand(machine.Axes("slide")));
        Assert.Equal(Refusal.ParametersDiffer, refused.Refusal);
        Assert.Contains("loaded only in part", refused.Message, StringComparison.Ordinal);

        // Every value can be read and is right; whether the drive has saved them can't be read.
        var read = Post(machine, false, ("gain", 0), ("loop", 0), ("filter", 0));
        machine.RunUntil(() => read.HasEnded, 5, "read");
        Assert.False(read.LeavesSetWhole);
        Assert.Equal(Refusal.ParametersDiffer, machine.Do(new ResetCommand(machine.Axes("slide"))).Refusal);

        var job = Load(machine, ("gain", 120), ("loop", 80), ("filter", 0));
        Assert.Equal([ParameterOutcome.AsWanted, ParameterOutcome.AsWanted, ParameterOutcome.AsWanted], Outcomes(job));
        Assert.Equal((ParameterOutcome.WrittenUnread, true), (job.Save, job.LeavesSetWhole));
        machine.Run(3);
        machine.Done(new ResetCommand(machine.Axes("slide")));
        Assert.Equal((AxisState.Disabled, false), (machine.State("slide"), machine.Axis("slide").Referenced));
    }

    [Fact]
    public void SetThatNeedsNoSaving_IsProvenByReadingItWhole()
    {
        var machine = Ready(13, new UnfinishedSet(Entries(Definition, [("gain", 120), ("filter", 0)]), Saves: false));
        var part = Post(machine, false, ("gain", 0), ("loop", 0));
        machine.RunUntil(() => part.HasEnded, 5, "read in part");
        Assert.False(part.LeavesSetWhole);
        Assert.Equal(Refusal.ParametersDiffer, machine.Do(new ResetCommand(machine.Axes("slide"))).Refusal);

        var whole = Post(machine, false, ("filter", 0), ("loop", 0), ("gain", 0));
        machine.RunUntil(() => whole.HasEnded, 5, "read whole");
        Assert.True(whole.LeavesSetWhole);
        machine.Run(1);
        machine.Done(new ResetCommand(machine.Axes("slide")));
    }

    [Fact]
    public void SetThatReadsOtherwise_IsNotProven()
    {
        var machine = Ready(14, new UnfinishedSet(Entries(Definition, [("gain", 120), ("filter", 7)]), Saves: false));
        var read = Post(machine, false, ("gain", 0), ("filter", 0));
        machine.RunUntil(() => read.HasEnded, 5, "read");
        Assert.False(read.LeavesSetWhole);
        Assert.Equal(FaultCode.ParametersIncomplete, machine.Axis("slide").Fault);
    }

    [Fact]
    public void Load_OfAValueTheDriveRefuses_GoesOnAndIsAFault()
    {
        var machine = Ready(5);
        machine.World.Ports[0].Interfere = frame => frame.Writes().Any(write => write.Address == FilterRegister) ? Interference.Refused(3) : Interference.None;
        var job = Load(machine, ("filter", 7), ("loop", 80), ("gain", 120));

        Assert.Equal((ParameterJobState.Done, ParameterOutcome.Rejected, (byte)3), (job.State, job.Result(0).Outcome, job.Result(0).ExceptionCode));
        Assert.Equal(ParameterOutcome.AsWanted, job.Result(2).Outcome);

        // Nothing reached the drive, so nothing is a mixture.
        machine.Run(2);
        Assert.Equal(FaultCode.None, machine.Axis("slide").Fault);
    }

    [Fact]
    public void StoredRegister_WhoseWriteIsNotAnswered_IsLookedAtNotRepeated()
    {
        var machine = Ready(6);
        var lost = 0;
        machine.World.Ports[0].Interfere = frame => frame.Writes().Any(write => write.Address == 148) && lost++ == 0 ? Interference.LostReply : Interference.None;
        var job = Load(machine, ("gain", 120 + 5));
        Assert.Equal([ParameterOutcome.Written], Outcomes(job));
        Assert.Equal(1, lost);
        Assert.Equal(1, machine.World.Drive("slide").MemoryWrites);
    }

    [Fact]
    public void Job_OfAnAxisWithTorque_IsRefused()
    {
        var machine = Ready(7);
        machine.Done(new HomeCommand(machine.Axes("slide")));
        var job = Post(machine, false, ("gain", 0));
        machine.RunUntil(() => job.HasEnded, 2, "an answer");
        Assert.Equal((ParameterJobState.Refused, Refusal.NotDisabled), (job.State, job.Refusal));
        Assert.Contains("disable slide first", machine.Control.RefusalOf(0, job.Refusal).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Job_ForAnotherDriveThanTheOneThatAnswers_IsRefused()
    {
        var machine = Ready(8);
        var job = new ParameterJob(Entries(machine.World.Machine, [("filter", 7)]), writes: true) { ExpectedSerial = 1 };
        Assert.Null(machine.Control.Post(0, job, machine.Grant));
        machine.RunUntil(() => job.HasEnded, 2, "an answer");
        Assert.Equal(Refusal.InvalidArgument, job.Refusal);
        Assert.Equal(0, machine.World.Drive("slide").Register("filter"));
    }

    [Fact]
    public void Post_WithoutAuthorityOrInProduction_IsRefused()
    {
        var machine = Ready(9);
        ParameterJob Job() => new(Entries(machine.World.Machine, [("filter", 7)]), writes: true);
        Assert.Equal(Refusal.AuthorityHeldByAnother, machine.Control.Post(0, Job(), null)!.Refusal);
        machine.Done(new ChooseModeCommand(MachineMode.Production));
        Assert.Equal(Refusal.NotInThisMode, machine.Control.Post(0, Job(), machine.Grant)!.Refusal);
        machine.Done(new ChooseModeCommand(MachineMode.Maintenance));
        Assert.Null(machine.Control.Post(0, Job(), machine.Grant));
        Assert.Equal(Refusal.ParametersInUse, machine.Control.Post(0, Job(), machine.Grant)!.Refusal);
    }

    [Fact]
    public void Read_GivesEveryValueAndShowsIt()
    {
        var machine = Ready(10);
        var names = new[] { "serialNumber", "firmwareVersion", "gain", "loop", "filter" };
        var job = Post(machine, false, [.. names.Select(name => (name, 0u))]);
        machine.RunUntil(() => job.HasEnded, 5, "read");
        Assert.Equal(ParameterJobState.Done, job.State);
        Assert.Equal([machine.World.Drive("slide").SerialNumber, 0x0102u, 120u, 80u, 0u], Enumerable.Range(0, 5).Select(i => job.Result(i).After));
        Assert.Equal(0x0102u, machine.Control.Parameter(0, job.Entries[1].Index).Raw);
    }

    [Fact]
    public void Load_InTheStepper_AllocatesNothing()
    {
        var machine = Ready(11);
        Load(machine, ("filter", 1), ("gain", 121), ("loop", 80));
        machine.Run(3);
        var job = Post(machine, true, ("filter", 2), ("gain", 120), ("loop", 80));
        var before = machine.World.Ports[0].StepperAllocatedBytes;
        machine.RunUntil(() => job.HasEnded, 10, "loaded");
        machine.Run(3);
        Assert.Equal(0, machine.World.Ports[0].StepperAllocatedBytes - before);
        Assert.Equal(2, machine.World.Drive("slide").Register("filter"));
    }

    [Fact]
    public void Job_ThatWaits_CanBeTakenBackOnce()
    {
        var job = new ParameterJob([], writes: false);
        Assert.True(job.TryWithdraw());
        Assert.False(job.TryWithdraw());
        Assert.True(job.HasEnded);
    }

    private static Interference Unplug(SupervisedMachine machine)
    {
        machine.World.Ports[0].IsUnplugged = true;
        return Interference.LostRequest;
    }

    private static Configuration.Machines.MachineDefinition Definition => FixedParameterTests.Machine(Fixed);

    private static SupervisedMachine Ready(ulong seed, UnfinishedSet? unfinished = null)
    {
        var machine = new SupervisedMachine(Definition, seed, [unfinished]);
        var rests = unfinished is null ? AxisState.Disabled : AxisState.Faulted;
        machine.RunUntil(() => machine.Axis("slide") is { Online: true } slide && slide.State == rests, 10, "met");
        machine.Run(1);
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        machine.Done(new ChooseModeCommand(MachineMode.Maintenance));
        return machine;
    }

    private static void Exchange(SupervisedMachine machine, uint serial)
    {
        machine.World.Ports[0].IsUnplugged = true;
        machine.Run(2);
        machine.World.Drive("slide").Exchange(serial);
        machine.World.Ports[0].IsUnplugged = false;
        machine.Run(6);
    }

    private static ParameterJob Load(SupervisedMachine machine, params (string Name, uint Raw)[] values)
    {
        var job = Post(machine, true, values);
        machine.RunUntil(() => job.HasEnded, 30, "loaded");
        return job;
    }

    private static ParameterJob Post(SupervisedMachine machine, bool writes, params (string Name, uint Raw)[] values)
    {
        var job = new ParameterJob(Entries(machine.World.Machine, values), writes) { Saves = true };
        Assert.Null(machine.Control.Post(0, job, machine.Grant));
        return job;
    }

    private static ParameterEntry[] Entries(Configuration.Machines.MachineDefinition machine, (string Name, uint Raw)[] values)
    {
        var parameters = machine.Axes[0].Drive.Parameters.ToList();
        return [.. values.Select(value => new ParameterEntry((short)parameters.FindIndex(field => field.Name == value.Name), value.Raw))];
    }

    private static ParameterOutcome[] Outcomes(ParameterJob job) => [.. Enumerable.Range(0, job.Entries.Count).Select(i => job.Result(i).Outcome)];
}
