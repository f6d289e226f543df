using Supervisor.Api.V1;
using Supervisor.Configuration.Parameters;
using Supervisor.Daemon.Verbs.Drives;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>A file laid beside a drive: what is written, what is left, and what must be accepted by its name.</summary>
public sealed class DrivePlanTests
{
    [Fact]
    public void Make_SameDriveAndValues_HasNothingToSay()
    {
        var plan = Make();

        Assert.Empty(plan.Identity);
        Assert.Empty(plan.Problems);
        Assert.Equal(0, plan.Differences);
        Assert.Equal(["gain", "loop"], plan.Parameters.Select(parameter => parameter.Name));
    }

    /// <summary>Serial numbers of drives of one delivery differ in their last digit.</summary>
    [Theory]
    [InlineData(4294967294, 258, "serialNumber")]
    [InlineData(4294967295, 259, "firmwareVersion")]
    public void Make_AnotherDrive_MustBeAcceptedByName(double serial, double firmware, string word)
    {
        var plan = Make(readings => (readings["serialNumber"], readings["firmwareVersion"]) = (serial, firmware));

        Assert.Equal([word], plan.Identity.Select(difference => difference.Word));
        Assert.Equal(serial, plan.SerialNumber);
    }

    [Fact]
    public void Make_OtherAxisDefinitionAndEditedFile_AreEachNamed()
    {
        var plan = Make(change: set => set with { Axis = "gantry", Definition = "Another drive" }, isAsSaved: false);

        Assert.Equal(["file", "axis", "definition"], plan.Identity.Select(difference => difference.Word));
    }

    [Fact]
    public void Make_ValueThatDiffers_IsWritten()
    {
        var gain = Make(readings => readings["gain"] = 12.4).Parameters[0];

        Assert.True(gain.IsWritten);
        Assert.Equal((12.3, 12.4, 12.3), (gain.File, gain.Drive, gain.Wanted));
    }

    [Fact]
    public void Make_WhatTheMachineFileFixes_GoesBeforeTheFile()
    {
        var loop = Make(describe: drive => (drive.Parameters[2].FixedValue, drive.Parameters[2].OnDifference) = (90, "refuse")).Parameters[1];

        Assert.Equal((80, 90, "fixed by the machine file"), (loop.File, loop.Wanted, loop.Note));
        Assert.True(loop.IsWritten);
    }

    [Fact]
    public void Make_WhatIsOnlyWarnedOf_FollowsTheFile()
    {
        var loop = Make(describe: drive => (drive.Parameters[2].FixedValue, drive.Parameters[2].OnDifference) = (90, "warn")).Parameters[1];

        Assert.False(loop.IsWritten);
    }

    [Fact]
    public void Make_ParameterTheFileDoesNotHave_IsLeftAndCounts()
    {
        var plan = Make(change: set => set with { Parameters = [set.Parameters[0]] });

        Assert.False(plan.Parameters[1].IsWritten);
        Assert.Equal(1, plan.Differences);
    }

    [Fact]
    public void Make_UnknownNameOrOtherUnit_CannotBeAccepted()
    {
        var plan = Make(change: set => set with { Parameters = [new SavedParameter("gain", 12.3, "rad/s"), new SavedParameter("torque", 1, null)] });

        Assert.Equal(2, plan.Problems.Count);
    }

    /// <summary>Without <c>--confirm</c> nothing is "done" that a load would still change.</summary>
    [Theory]
    [InlineData(12.3, false, "", true, "the drive has every value already")]
    [InlineData(12.3, false, "LINK_LOST", true, "the drive has every value already")]
    [InlineData(12.4, false, "", false, "--confirm writes 1 parameter")]
    [InlineData(12.4, true, "PARAMETERS_INCOMPLETE", false, "--confirm writes 1 parameter")]
    [InlineData(12.3, true, "LINK_LOST", false, "held because a load was cut")]
    [InlineData(12.3, false, "PARAMETERS_INCOMPLETE", false, "held: parameters incomplete; --confirm resets it")]
    public void Of_WithoutConfirm_TellsWhatALoadWouldDo(double gain, bool isCut, string fault, bool isComplete, string words)
    {
        var said = UnconfirmedLoad.Of("dibber", Make(readings => readings["gain"] = gain, isCut: isCut), fault);

        Assert.Equal(isComplete, said.Complete);
        Assert.Contains(words, said.Message, StringComparison.Ordinal);
    }

    private static DrivePlan Make(
        Action<Dictionary<string, double>>? read = null, Func<DriveParameterSet, DriveParameterSet>? change = null, Action<GetDriveResponse>? describe = null,
        bool isAsSaved = true, bool isCut = false)
    {
        var drive = new GetDriveResponse
        {
            Definition = "Reference drive",
            Parameters =
            {
                new DriveParameter { Name = "serialNumber", Readable = true },
                new DriveParameter { Name = "gain", Unit = "1/s", Readable = true, Writable = true },
                new DriveParameter { Name = "loop", Readable = true, Writable = true },
                new DriveParameter { Name = "communicationTimeout", Readable = true, Writable = true, SetByMachineFile = true },
            },
        };
        describe?.Invoke(drive);
        var values = new Dictionary<string, double> { ["serialNumber"] = 4294967295, ["firmwareVersion"] = 258, ["gain"] = 12.3, ["loop"] = 80, ["communicationTimeout"] = 250 };
        var set = new DriveParameterSet(
            "dibber", "Reference drive", new Dictionary<string, double> { ["serialNumber"] = 4294967295, ["firmwareVersion"] = 258 }, DateTimeOffset.UnixEpoch,
            [new SavedParameter("gain", 12.3, "1/s"), new SavedParameter("loop", 80, null)]);
        read?.Invoke(values);
        var readings = new ReadParametersResponse { SetIncomplete = isCut };
        readings.Readings.AddRange(values.Select(value => new ParameterReading { Name = value.Key, Value = value.Value }));
        return DrivePlan.Make("dibber", new ReadParameterSet(change?.Invoke(set) ?? set, isAsSaved), drive, readings);
    }
}
