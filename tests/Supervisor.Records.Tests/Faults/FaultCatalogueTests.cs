using Supervisor.Records.Faults;

namespace Supervisor.Records.Tests.Faults;

public sealed class FaultCatalogueTests
{
    [Fact]
    public void Entries_EveryCode_HasOne() =>
        Assert.Equal(Enum.GetValues<FaultCode>().Order(), FaultCatalogue.Entries.Select(entry => entry.Code));

    [Fact]
    public void FaultCode_Numbers_AreUnique() =>
        Assert.Equal(Enum.GetNames<FaultCode>().Length, Enum.GetValues<FaultCode>().Distinct().Count());

    [Fact]
    public void Entries_Names_AreUniqueAndShort()
    {
        Assert.Equal(FaultCatalogue.Entries.Count, FaultCatalogue.Entries.Select(entry => entry.Name).Distinct().Count());
        Assert.All(FaultCatalogue.Entries, entry => Assert.InRange(entry.Name.Length, 3, 32));
    }

    [Fact]
    public void Entries_Texts_AreOneSentenceEach() =>
        Assert.All(FaultCatalogue.Entries, entry => Assert.All([entry.Meaning, entry.Remedy], AssertSentence));

    /// <summary>Numbers are stored and read by other programs: those handed out stay what they are.</summary>
    [Theory]
    [InlineData(FaultCode.LinkLost, 101)]
    [InlineData(FaultCode.WrongIdentity, 105)]
    [InlineData(FaultCode.DriveFault, 201)]
    [InlineData(FaultCode.Brake, 210)]
    [InlineData(FaultCode.FollowingError, 301)]
    [InlineData(FaultCode.TorqueLimitUnverified, 310)]
    [InlineData(FaultCode.BrakeSlip, 311)]
    [InlineData(FaultCode.StandstillLostOnBrake, 312)]
    [InlineData(FaultCode.BrakeProofFailed, 313)]
    [InlineData(FaultCode.ContactTooEarly, 314)]
    [InlineData(FaultCode.HomingDistanceExceeded, 315)]
    [InlineData(FaultCode.ParameterDiffers, 316)]
    [InlineData(FaultCode.HeatingWarning, 317)]
    [InlineData(FaultCode.BrakeProofOverdue, 319)]
    [InlineData(FaultCode.ParameterFoundDifferent, 322)]
    [InlineData(FaultCode.ParametersIncomplete, 323)]
    [InlineData(FaultCode.LoadNotCarried, 324)]
    [InlineData(FaultCode.LoadHeldByTorque, 440)]
    [InlineData(FaultCode.HeldLoadReleased, 441)]
    [InlineData(FaultCode.StopFailed, 401)]
    [InlineData(FaultCode.PortThreadEnded, 501)]
    public void FaultCode_Number_IsKept(FaultCode code, int number) => Assert.Equal(number, (int)code);

    [Fact]
    public void Entries_Causes_AreTwoToFourShortOnes() =>
        Assert.All(Faults, entry =>
        {
            Assert.InRange(entry.Causes.Count, 2, 4);
            Assert.Equal(entry.Causes.Count, entry.Causes.Distinct().Count());
            Assert.All(entry.Causes, cause =>
            {
                Assert.InRange(cause.Length, 10, 70);
                Assert.False(cause.EndsWith('.') || cause.Contains(';', StringComparison.Ordinal) || cause.Contains('|', StringComparison.Ordinal), cause);
            });
        });

    [Fact]
    public void Entries_PriorityAndUrgency_AreSaid() =>
        Assert.All(Faults, entry =>
        {
            Assert.NotEqual(FaultPriority.None, entry.Priority);
            Assert.NotEqual(FaultUrgency.None, entry.Urgency);
        });

    /// <summary>ISA-18.2 and EEMUA 191 want few high priorities and mostly low ones, about 5, 15 and 80 % (secondary text); here the order counts.</summary>
    [Fact]
    public void Entries_Priorities_AreRarerTheHigherTheyAre()
    {
        int Count(FaultPriority priority) => Faults.Count(entry => entry.Priority == priority);

        Assert.InRange(Count(FaultPriority.High), 1, Count(FaultPriority.Medium) - 1);
        Assert.InRange(Count(FaultPriority.Medium), 1, Count(FaultPriority.Low) - 1);
    }

    /// <summary>A load that may move while everybody believes that the machine stands.</summary>
    [Theory]
    [InlineData(FaultCode.StopFailed)]
    [InlineData(FaultCode.StandstillLost)]
    [InlineData(FaultCode.StandstillLostOnBrake)]
    [InlineData(FaultCode.BrakeSlip)]
    public void Priority_OfWhatMovesThoughItShouldStand_IsHighAndNow(FaultCode code)
    {
        Assert.Equal(FaultPriority.High, FaultCatalogue.Entry(code).Priority);
        Assert.Equal(FaultUrgency.Now, FaultCatalogue.Entry(code).Urgency);
    }

    [Fact]
    public void IsWarning_WhatOnlyWarns_StopsAndRecoversNothing()
    {
        FaultCode[] warnings =
        [
            FaultCode.DriveErrorsFrequent, FaultCode.LineErrorsFrequent, FaultCode.AdapterHearsItself,
            FaultCode.HeatingWarning, FaultCode.BrakeProofOverdue, FaultCode.ParameterFoundDifferent, FaultCode.StopsLonger,
            FaultCode.OutputNotConfirmed, FaultCode.OutputChanged, FaultCode.AliveStopped,
            FaultCode.ModuleLost, FaultCode.ModuleRestarted, FaultCode.ModuleTimeoutUnverified, FaultCode.ModuleRefuses, FaultCode.ModuleOutputNotTaken,
            FaultCode.ModuleErrorsFrequent,
        ];
        Assert.Equal(warnings, Faults.Where(entry => entry.IsWarning).Select(entry => entry.Code));
        Assert.All(Faults.Where(entry => entry.IsWarning), entry =>
        {
            Assert.False(FaultCatalogue.MayRecover(entry.Code));
            Assert.Equal(StopReaction.None, FaultCatalogue.ReactionTo(entry.Code).Axis);
        });
    }

    private static IEnumerable<FaultEntry> Faults => FaultCatalogue.Entries.Where(entry => entry.Code != FaultCode.None);

    private static void AssertSentence(string text)
    {
        Assert.True(char.IsUpper(text[0]), text);
        Assert.True(text.IndexOf('.', StringComparison.Ordinal) == text.Length - 1, text);
    }

    [Fact]
    public void MayRecover_WhatAPersonMustLookAt_IsFalse()
    {
        FaultCode[] never =
        [
            FaultCode.OverCurrent, FaultCode.ShortCircuit, FaultCode.Encoder, FaultCode.Brake, FaultCode.MotorBlocked, FaultCode.StopFailed,
            FaultCode.WrongIdentity, FaultCode.TorqueLimitUnverified, FaultCode.ChannelDiscrepancy, FaultCode.StandstillLost,
            FaultCode.SoftLimitPassed, FaultCode.BrakeSlip, FaultCode.StandstillLostOnBrake, FaultCode.BrakeProofFailed, FaultCode.ParameterDiffers,
            FaultCode.LoadNotCarried, FaultCode.LoadHeldByTorque, FaultCode.HeldLoadReleased,
        ];

        Assert.All(never, code => Assert.False(FaultCatalogue.MayRecover(code)));
        Assert.All(never, code => Assert.Equal(FaultClass.Grave, FaultCatalogue.ClassOf(code)));
    }

    [Theory]
    [InlineData(FaultCode.LinkLost, FaultClass.Link)]
    [InlineData(FaultCode.DriveCommunicationTimeout, FaultClass.Link)]
    [InlineData(FaultCode.DriveRestarted, FaultClass.Restart)]
    [InlineData(FaultCode.UnderVoltage, FaultClass.Supply)]
    [InlineData(FaultCode.OverTemperature, FaultClass.Temperature)]
    [InlineData(FaultCode.FollowingError, FaultClass.Following)]
    [InlineData(FaultCode.HomingTimeout, FaultClass.TimeOut)]
    public void MayRecover_WhatAFileMayAskFor_IsTrue(FaultCode code, FaultClass expected)
    {
        Assert.Equal(expected, FaultCatalogue.ClassOf(code));
        Assert.True(FaultCatalogue.MayRecover(code));
    }

    [Fact]
    public void Entry_NumberOfANewerVersion_SaysSoAndIsNeverRecovered()
    {
        var newer = (FaultCode)60_000;

        Assert.Contains("60000", FaultCatalogue.Entry(newer).Name, StringComparison.Ordinal);
        Assert.False(FaultCatalogue.MayRecover(newer));
        Assert.False(FaultCatalogue.Entry(newer).MayRecover);
        Assert.Equal(FaultClass.Grave, FaultCatalogue.ClassOf(newer));
    }

    /// <summary>Codes and meanings of 603Fh: read in the object tables of general-purpose CiA 402 stacks (secondary text).</summary>
    [Theory]
    [InlineData(0x2310, FaultCode.OverCurrent)]
    [InlineData(0x2320, FaultCode.ShortCircuit)]
    [InlineData(0x3210, FaultCode.OverVoltage)]
    [InlineData(0x3220, FaultCode.UnderVoltage)]
    [InlineData(0x4210, FaultCode.OverTemperature)]
    [InlineData(0x4310, FaultCode.OverTemperature)]
    [InlineData(0x5530, FaultCode.DriveFault)]
    [InlineData(0x6010, FaultCode.DriveFault)]
    [InlineData(0x6320, FaultCode.DriveFault)]
    [InlineData(0x7121, FaultCode.MotorBlocked)]
    [InlineData(0x7305, FaultCode.Encoder)]
    [InlineData(0x7510, FaultCode.DriveCommunicationTimeout)]
    [InlineData(0x8130, FaultCode.DriveCommunicationTimeout)]
    [InlineData(0x8311, FaultCode.MotorBlocked)]
    [InlineData(0x8611, FaultCode.DriveFollowingError)]
    [InlineData(0x8612, FaultCode.DriveFault)]
    public void FromCia402_CodeOfTheTable_HasItsName(int errorCode, FaultCode expected) =>
        Assert.Equal(expected, FaultCatalogue.FromCia402((ushort)errorCode));

    /// <summary>Groups by leading digits: value from memory of CiA 301 and CiA 402.</summary>
    [Theory]
    [InlineData(0x2340, FaultCode.OverCurrent)]
    [InlineData(0x3110, FaultCode.OverVoltage)]
    [InlineData(0x3120, FaultCode.UnderVoltage)]
    [InlineData(0x3130, FaultCode.DriveFault)]
    [InlineData(0x4110, FaultCode.OverTemperature)]
    [InlineData(0x4220, FaultCode.DriveFault)]
    [InlineData(0x5112, FaultCode.DriveFault)]
    [InlineData(0x7303, FaultCode.Encoder)]
    [InlineData(0x7520, FaultCode.DriveCommunicationTimeout)]
    [InlineData(0x8110, FaultCode.DriveCommunicationTimeout)]
    [InlineData(0x8200, FaultCode.DriveFault)]
    [InlineData(0x1000, FaultCode.DriveFault)]
    [InlineData(0xFF01, FaultCode.DriveFault)]
    [InlineData(0x0000, FaultCode.DriveFault)]
    public void FromCia402_OtherCode_IsNamedByItsGroup(int errorCode, FaultCode expected) =>
        Assert.Equal(expected, FaultCatalogue.FromCia402((ushort)errorCode));

    [Fact]
    public void FromCia402_AnyCode_IsSomeFault()
    {
        for (var code = 0; code <= ushort.MaxValue; code++)
        {
            Assert.NotEqual(FaultCode.None, FaultCatalogue.FromCia402((ushort)code));
        }
    }
}
